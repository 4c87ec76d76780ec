import Foundation
import LeafturnCore
import LeafturnModels
import Walking
import XCTest

/// The library as it is, without the views.
final class CoreTests: XCTestCase {
    private func open(_ folder: URL) throws -> Leafturn {
        try Leafturn.open(
            opening: Opening(
                folder: folder.appendingPathComponent("journal").path, noBackupFolder: folder.appendingPathComponent("marker").path,
                language: "en", offsetMinutes: -300, beside: .own))
    }

    /// The library is built as phones get it, with unwinding left in: the panic ends at the boundary.
    func testAPanicInsideIsCaughtAndTheJournalGoesOn() throws {
        let core = try open(scratch("panic"))
        try Scene.counting(core, try Scene.site(core))
        let before = Scene.line(try core.counting())
        XCTAssertThrowsError(try core.trip()) { error in
            guard case Failure.StartedAgain(let text) = error else { return XCTFail("\(error)") }
            XCTAssertTrue(text.contains("started again"), text)
        }
        XCTAssertEqual(Scene.line(try core.counting()), before)
        XCTAssertEqual(try core.count(what: "egg").tiles.first { $0.what == "egg" }?.number, 13)
    }

    func testASecondObjectIsToldToUseTheFirst() throws {
        let folder = try scratch("second")
        try withExtendedLifetime(open(folder)) {
            XCTAssertThrowsError(try open(folder)) { error in
                guard case Failure.UseTheOther = error else { return XCTFail("\(error)") }
            }
        }
        _ = try open(folder)
    }

    func testWhatIsNotAllowedSaysWhyInTheLanguageThatWasChosen() throws {
        let core = try open(scratch("refused"))
        try Scene.counting(core, try Scene.site(core))
        _ = try core.setLanguage(tag: "fr-CA")
        XCTAssertThrowsError(try core.emptyPlant()) { XCTAssertTrue(($0 as? Failure)?.words.contains("plante") == true, "\($0)") }
        XCTAssertThrowsError(try core.count(what: "no-such-stage"))
    }

    /// Every word that the shell names is there in each language.
    func testWordsOfTheShellAreInTheCore() throws {
        let core = try open(scratch("words"))
        let own = try ids(below: package.appendingPathComponent("Sources"), "swift")
        XCTAssertGreaterThan(own.count, 40)
        for language in ["en", "es", "fr"] {
            let words = try core.setLanguage(tag: language)
            XCTAssertEqual(own.filter { words[$0] == nil }.sorted(), [], language)
        }
    }
}
