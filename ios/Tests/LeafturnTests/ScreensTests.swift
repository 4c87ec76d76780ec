import Foundation
import LeafturnCore
import LeafturnModels
import LeafturnViews
import SwiftUI
import Walking
import XCTest

/// Every screen, laid out at several sizes, walked over and drawn.
final class ScreensTests: XCTestCase {
    struct Size {
        let name: String
        let screen: CGSize
        let letters: DynamicTypeSize
        var theme: Theme?, hand: Hand?, language: String?
    }

    static let sizes: [Size] = [
        Size(name: "375", screen: CGSize(width: 375, height: 667), letters: .large),
        Size(name: "320", screen: CGSize(width: 320, height: 568), letters: .large),
        Size(name: "375-large", screen: CGSize(width: 375, height: 667), letters: .accessibility2),
        Size(name: "320-large", screen: CGSize(width: 320, height: 568), letters: .accessibility2),
        Size(name: "320-largest", screen: CGSize(width: 320, height: 568), letters: .accessibility5),
        Size(name: "375-left-dark-es", screen: CGSize(width: 375, height: 667), letters: .large, theme: .dark, hand: .left, language: "es"),
        Size(name: "320-large-fr", screen: CGSize(width: 320, height: 568), letters: .accessibility2, language: "fr"),
        Size(name: "667-on-its-side", screen: CGSize(width: 667, height: 375), letters: .large),
    ]

    @MainActor func testEveryScreenAtEverySize() async throws {
        var faults: [String] = []
        for size in Self.sizes { faults += try await all(size) }
        XCTAssertEqual(faults.joined(separator: "\n"), "")
    }

    @MainActor private func all(_ size: Size) async throws -> [String] {
        let folder = try scratch("screens-\(size.name)")
        let walk = Walk(folder: folder)
        walk.values.screen = size.screen
        walk.values.dynamicTypeSize = size.letters
        var faults: [String] = []
        let pictures = folder.deletingLastPathComponent().appendingPathComponent("pictures/\(size.name)")
        try FileManager.default.createDirectory(at: pictures, withIntermediateDirectories: true)
        func look(_ name: String, _ path: [Place]) async throws {
            try await walk.show(path)
            faults += Inspector(walk).faults().map { "\(size.name) \(name): \($0)" }
            let paper = Look.of(walk.desk.settings.theme).paper
            let svg = Picture.svg(of: walk.laid(), ground: paper, caption: "\(size.name) \(name)")
            try svg.write(to: pictures.appendingPathComponent("\(name).svg"), atomically: true, encoding: .utf8)
        }
        faults += Inspector(walk).faults().map { "\(size.name) before the core has answered: \($0)" }
        try await walk.begin()
        try await walk.set(size.theme, size.hand, size.language)
        try await look("01-sites-none", [])
        try await look("02-add-site", [.addSite])
        let site = try await walk.put { try Scene.site($0) }
        _ = try await walk.put { try Scene.site($0, "Roadside") }
        try await look("03-sites", [])
        try await look("04-start", [.start(site: site)])
        _ = try await walk.put { try Scene.visit($0, site) }
        try await look("05-first-plant", [.counting])
        _ = try await walk.put { try $0.openPlant(host: Scene.host) }
        try await look("06-counting-empty", [.counting])
        try await walk.put { try Scene.counting($0, site) }
        try await look("07-counting", [.counting])
        try await look("08-undecided", [.counting, .undecided])
        try await look("09-states", [.counting, .states])
        try await look("10-more", [.counting, .more])
        try await look("11-hosts", [.counting, .hosts])
        try await look("19-key-start", [.counting, .keyStart])
        walk.desk.beginKey(guess: nil)
        try await walk.settle()
        try await look("20-key", [.counting, .key])
        let question = try XCTUnwrap(walk.desk.key?.question)
        walk.desk.answer(question.character, question.states[0].answer)
        try await walk.settle()
        try await look("21-key-answered", [.counting, .key])
        try await walk.show([.counting])
        walk.desk.empty()
        try await walk.settle()
        try await look("12-refused", [.counting])
        walk.desk.takeNotice()
        try await look("13-review", [.counting, .review])
        _ = try await walk.put { core in
            _ = try core.nextPlant()
            return try core.endVisit()
        }
        try await look("14-review-ended", [.counting, .review])
        try await look("15-sending", [.sending])
        try await look("16-join", [.sending, .join])
        try await look("17-settings", [.settings])
        try await look("18-cautions", [.settings, .cautions])
        try await look("40-season", [.start(site: site), .season(site)])
        try await look("41-site", [.start(site: site), .site(site)])
        try await look("42-mine", [.settings, .mine])
        walk.desk.askToDelete()
        try await look("43-mine-delete", [.settings, .mine])
        // Hundreds of rows that are all alike: where they have the most room, and the least.
        if ["375", "320-large"].contains(size.name) { try await look("44-licences", [.settings, .licences]) }
        try await walk.leave()
        return faults
    }

    /// Everything that can be pressed does something.
    @MainActor func testNoButtonIsDead() async throws {
        let walk = try await Walk.counting("dead")
        try await walk.tap("tile-egg")
        let site = try await walk.put { try $0.sites().sites[0].site }
        for path in [
            [], [.addSite], [.start(site: site)], [.counting], [.counting, .undecided], [.counting, .states], [.counting, .more],
            [.counting, .hosts], [.counting, .review], [.sending], [.sending, .join], [.settings], [.settings, .cautions],
            [.settings, .mine], [.settings, .licences], [.start(site: site), .season(site)], [.start(site: site), .site(site)],
        ] as [[Place]] {
            try await walk.show(path)
            let dead = try await Inspector(walk).dead()
            XCTAssertEqual(dead, [], "\(path)")
        }
        try await walk.leave()
    }

    @MainActor func testEachTileCountsItsOwn() async throws {
        let walk = try await Walk.counting("wiring")
        let found = try await Inspector(walk).wiring()
        XCTAssertEqual(found, [])
        try await walk.leave()
    }

    /// What a person sees when the journal cannot be had: why, and nothing that pretends to be there.
    @MainActor func testAJournalThatAnotherProcessHoldsIsSaid() async throws {
        let walk = try await Walk.counting("held")
        let other = Walk(folder: walk.folder)
        try await other.begin()
        XCTAssertNotNil(other.maybe("notice"), other.outline())
        XCTAssertEqual(other.doubles.haptics.felt, [.refused])
        XCTAssertTrue(other.tagged("tile-").isEmpty)
        try await walk.leave()
        // It is free: the same screen begins.
        try await other.begin()
        XCTAssertNotNil(other.maybe("go-on"), other.outline())
        try await other.leave()
    }
}
