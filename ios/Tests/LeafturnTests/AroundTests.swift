import Foundation
import LeafturnCore
import LeafturnViews
import SwiftUI
import Walking
import XCTest

@testable import LeafturnModels

/// The screens around counting: practice, measuring, what is said of plant, weather and visit, notes, finds, matching.
final class AroundTests: XCTestCase {
    /// A frame header of a JPEG, 1,000 by 750 pixels (ITU-T T.81, B.2.2): all that the stand-in reads of a photo.
    private static let photo = Data([0xFF, 0xD8, 0xFF, 0xC0, 0x00, 0x11, 0x08, 0x02, 0xEE, 0x03, 0xE8] + [UInt8](repeating: 0, count: 16))

    private static let ratio: @Sendable (Leafturn) throws -> String = { core in
        try XCTUnwrap(core.measure().questions.first).question.character
    }

    // MARK: Every screen

    @MainActor func testEveryScreenAtFourSizes() async throws {
        var faults: [String] = []
        for size in ScreensTests.sizes.prefix(4) { faults += try await all(size) }
        XCTAssertEqual(faults.joined(separator: "\n"), "")
    }

    @MainActor private func all(_ size: ScreensTests.Size) async throws -> [String] {
        let walk = try await Walk.counting("around-\(size.name)")
        walk.values.screen = size.screen
        walk.values.dynamicTypeSize = size.letters
        let site = try await walk.put { try $0.sites().sites[0].site }
        var faults: [String] = []
        let pictures = walk.folder.deletingLastPathComponent().appendingPathComponent("pictures/\(size.name)-around")
        try FileManager.default.createDirectory(at: pictures, withIntermediateDirectories: true)
        func look(_ name: String, _ path: [Place]?) async throws {
            if let path { try await walk.show(path) }
            faults += Inspector(walk).faults().map { "\(size.name) \(name): \($0)" }
            let svg = Picture.svg(of: walk.laid(), ground: Look.light.paper, caption: "\(size.name) \(name)")
            try svg.write(to: pictures.appendingPathComponent("\(name).svg"), atomically: true, encoding: .utf8)
        }
        try await look("01-details", [.counting, .details(check: nil)])
        try await look("02-weather", [.counting, .weather])
        try await look("03-visit", [.counting, .visit])
        try await look("04-notes-none", [.counting, .notes])
        _ = try await walk.put { try $0.addNote(site: nil, text: "an invented note about the fence") }
        try await look("05-notes", [.counting, .notes])
        try await look("06-outside-none", [.counting, .outside(site: site)])
        try await look("07-advice", [.counting, .advice])
        try await look("08-matching-none", [.counting, .review, .matching])
        walk.desk.sheets.matching = Self.twoLooks
        try await look("09-matching", nil)
        try await look("10-practice", [.settings, .practice])
        walk.desk.answerPractice(try XCTUnwrap(walk.desk.sheets.practice?.choices.first).name)
        try await walk.settle()
        try await look("11-practice-answered", nil)
        let character = try await walk.put(Self.ratio)
        try await look("12-measure-no-photo", [.counting, .key, .measure(character: character)])
        try await measured(walk, character)
        try await look("13-measure", nil)
        try await look("14-start", [.start(site: site)])
        try await look("15-review", [.counting, .review])
        try await walk.leave()
        return faults
    }

    /// Two looks at one plant, invented: a record as the core makes it.
    private static let twoLooks = MatchScreen(
        title: "Counted twice", lead: "Two phones looked at these plants. How many did both see?", none: nil,
        pairs: [
            MatchPair(
                title: "Plant 1", checks: ["one", "other"],
                rows: [
                    MatchRow(what: "egg", label: "egg", counted: "3 and 2 counted", most: 2, numbers: ["0", "1", "2"], both: nil)
                ], waits: nil, same: Label(text: "It was one plant", spoken: "It was one plant"),
                different: Label(text: "These were two plants", spoken: "These were two plants"))
        ])

    @MainActor private func measured(_ walk: Walk, _ character: String) async throws {
        walk.doubles.lens.jpeg = Self.photo
        try await walk.tap("photo-take")
        try await walk.until("the photo") { walk.maybe("point-add") != nil }
        let spot = try XCTUnwrap(walk.tree().all.compactMap(\.spot).first)
        spot(CGPoint(x: 60, y: 60))
        spot(CGPoint(x: 260, y: 60))
        try await walk.settle()
        try await walk.tap("stroke-against")
        try await walk.tap("point-add")
        try await walk.tap("point-add")
    }

    // MARK: Acts

    /// What is typed and chosen on each screen is in the core, and on the screen when it is opened again.
    @MainActor func testWhatIsSaidIsKept() async throws {
        let walk = try await Walk.counting("said")
        try await walk.show([.counting, .more])
        try await walk.tap("details")
        try walk.type("field-height", "87")
        try await walk.tap("condition-eaten-back")
        try await walk.tap("growth-5")
        try await walk.tap("growth-6")
        try await walk.tap("save")
        XCTAssertEqual(walk.desk.path, [.counting, .more], "it leads back")
        let details = try await walk.put { try $0.details(check: nil) }
        XCTAssertEqual(details.height.value, "87")
        XCTAssertEqual(details.condition.filter(\.chosen).map(\.name), ["eaten-back"])
        XCTAssertEqual(details.growth.filter(\.chosen).map(\.name), ["5", "6"])
        try await walk.tap("weather")
        try await walk.tap("rain-drizzle")
        try await walk.tap("wind-3")
        try walk.type("field-air", "21.5")
        try await walk.tap("save")
        let weather = try await walk.put { try $0.weather() }
        XCTAssertEqual(weather.air.value, "21.5")
        XCTAssertEqual((weather.rain + weather.wind).filter(\.chosen).map(\.name), ["drizzle", "3"])
        try await walk.tap("visit")
        try walk.type("field-minutes", "45")
        try await walk.tap("hosts-up-yes")
        try await walk.tap("save")
        let visit = try await walk.put { try $0.visit() }
        XCTAssertEqual(visit.minutes.value, "45")
        XCTAssertEqual(visit.hostsUp.filter(\.chosen).map(\.name), ["yes"])
        try await walk.tap("notes")
        XCTAssertEqual(try walk.find("field-text").value, walk.desk.sheets.notes?.beginsWith)
        try walk.type("field-text", "an invented note")
        try await walk.tap("add-note")
        XCTAssertTrue(walk.says("an invented note"), walk.outline())
        try await walk.tap(try XCTUnwrap(walk.tagged("erase-").first).identifier)
        XCTAssertFalse(walk.says("an invented note"), walk.outline())
        try await walk.show([.counting, .more])
        try await walk.tap("outside")
        try await walk.tap("what-egg")
        try await walk.tap("on-ground")
        try await walk.tap("save")
        XCTAssertEqual(walk.desk.sheets.outside?.finds.count, 1)
        XCTAssertEqual(walk.number("egg"), 0, "it enters no count")
        try await walk.leave()
    }

    /// A refused number is said in words, felt, and still stands in its field.
    @MainActor func testARefusalKeepsWhatWasTyped() async throws {
        let walk = try await Walk.counting("refused-form")
        for (place, field) in [(Place.details(check: nil), "height"), (.weather, "air"), (.visit, "minutes")] {
            try await walk.show([.counting, place])
            try walk.type("field-\(field)", "many")
            try await walk.tap("save")
            XCTAssertEqual(walk.doubles.haptics.felt.last, .refused, "\(place)")
            XCTAssertNotNil(walk.maybe("notice"), "\(place)")
            XCTAssertEqual(try walk.find("field-\(field)").value, "many")
            XCTAssertEqual(walk.desk.path.last, place)
            walk.desk.takeNotice()
        }
        try await walk.leave()
    }

    @MainActor func testPracticeSaysWhatIsRightAndGoesOn() async throws {
        let walk = try await Walk.counting("practice")
        try await walk.show([.settings, .practice])
        let before = try await walk.put { try $0.counting().tiles }
        for _ in 0..<3 {
            let item = try XCTUnwrap(walk.desk.sheets.practice).item
            XCTAssertFalse(try walk.find("drawing").label.isEmpty)
            try await walk.tap(try XCTUnwrap(walk.tagged("practice-").first).identifier)
            XCTAssertTrue(walk.says(try XCTUnwrap(walk.desk.sheets.marks).verdict), walk.outline())
            try await walk.tap("practice-go-on")
            XCTAssertNotEqual(walk.desk.sheets.practice?.item, item)
        }
        let after = try await walk.put { try $0.counting().tiles }
        XCTAssertEqual(before, after, "practice changes no count")
        try await walk.leave()
    }

    /// Points are put by touch and by a button, dragged, and moved by actions; what they measure is spoken.
    @MainActor func testPointsOnAPhotoAreMovedByHandAndByActions() async throws {
        let walk = try await Walk.counting("points")
        let character = try await walk.put(Self.ratio)
        _ = try await walk.put { try $0.beginKey(beginning: KeyBeginning(means: ["photo"], guess: nil)) }
        try await walk.show([.counting, .key, .measure(character: character)])
        try await measured(walk, character)
        func at(_ place: Int) -> Point { walk.desk.sheets.measuring.line(.against)[place] }
        XCTAssertEqual(at(1), Point(x: 500, y: 375))
        let grip = try walk.find("grip-against-1")
        XCTAssertEqual(grip.named.count, 4)
        grip.adjust?(.increment)
        grip.named[3].act()
        XCTAssertEqual(at(1), Point(x: 510, y: 385))
        try await walk.settle()
        let drag = try XCTUnwrap(walk.find("grip-against-1").drag)
        drag.changed?(.touch(at: Date(timeIntervalSinceReferenceDate: 0), moved: CGSize(width: 10, height: 0)))
        drag.changed?(.touch(at: Date(timeIntervalSinceReferenceDate: 0.1), moved: CGSize(width: 5000, height: 0)))
        drag.ended?(.touch(at: Date(timeIntervalSinceReferenceDate: 0.2)))
        XCTAssertEqual(at(1), Point(x: 1000, y: 385), "it stays on the photo")
        try await walk.settle()
        let said = try XCTUnwrap(walk.desk.sheets.measuring.said)
        XCTAssertEqual(try walk.find("grip-against-1").value, said)
        try await walk.tap("answer-measured")
        XCTAssertEqual(walk.desk.path, [.counting, .key])
        XCTAssertTrue(walk.desk.key?.answers.contains { $0.character == character } == true, walk.outline())
        XCTAssertNil(walk.desk.sheets.measuring.photo, "the photo is let go")
        try await walk.leave()
    }

    /// How many both saw: by its buttons and by one adjustable element, within what both can have seen.
    @MainActor func testHowManyBothSaw() async throws {
        let walk = try await Walk.counting("both")
        try await walk.show([.counting, .review, .matching])
        walk.desk.sheets.matching = Self.twoLooks
        func number() throws -> String { try walk.find("both-0-egg").value }
        XCTAssertEqual(try number(), "3 and 2 counted")
        XCTAssertFalse(try walk.find("save-0").enabled)
        for _ in 0..<2 { try await walk.tap("more-0-egg") }
        XCTAssertEqual(try number(), "1. 3 and 2 counted")
        try walk.find("both-0-egg").adjust?(.increment)
        try walk.find("both-0-egg").adjust?(.increment)
        XCTAssertEqual(try number(), "2. 3 and 2 counted", "no more than both can have seen")
        XCTAssertFalse(try walk.find("more-0-egg").enabled)
        try await walk.tap("fewer-0-egg")
        XCTAssertEqual(try number(), "1. 3 and 2 counted")
        XCTAssertTrue(try walk.find("save-0").enabled)
        try await walk.leave()
    }

    /// A finding leads to the plant that it is about, and from there back to the review.
    @MainActor func testAFindingLeadsToItsPlant() async throws {
        let walk = try await Walk.counting("finding")
        _ = try await walk.put { core in
            for _ in 0..<51 { _ = try core.count(what: "egg") }
            _ = try core.closePlant()
        }
        try await walk.show([.counting, .review])
        try await walk.tap("finding-0")
        XCTAssertEqual(walk.desk.path.last, .details(check: walk.desk.review?.rows[0].check))
        try walk.type("field-height", "60")
        try await walk.tap("save")
        XCTAssertEqual(walk.desk.path, [.counting, .review])
        try await walk.tap("end")
        XCTAssertEqual(walk.desk.sheets.closing?.lines.count, 3, walk.outline())
        try await walk.leave()
    }

    // MARK: States

    @MainActor private static func places(_ site: String, _ character: String) -> [[Place]] {
        [
            [.counting, .details(check: nil)], [.counting, .weather], [.counting, .visit], [.counting, .notes], [.counting, .advice],
            [.counting, .outside(site: site)], [.counting, .review], [.counting, .review, .matching], [.settings, .practice],
            [.counting, .key, .measure(character: character)], [.counting], [.counting, .keyStart], [.start(site: site)],
        ]
    }

    /// Before its record is there a screen has nothing to press; where it cannot be had, it says so and offers to ask again.
    @MainActor func testAScreenWithoutItsRecordWaitsOrOffersToAskAgain() async throws {
        let walk = try await Walk.counting("unread")
        let site = try await walk.put { try $0.sites().sites[0].site }
        let character = try await walk.put(Self.ratio)
        for path in Self.places(site, character) {
            let other = Walk(folder: walk.folder)
            other.desk.words = walk.desk.words
            other.desk.path = path
            let waiting = other.elements().filter { $0.isControl && $0.identifier != "system-back" }.map(\.identifier)
            XCTAssertEqual(waiting, [], "\(path) before the core has answered")
            try await other.settle()
            XCTAssertEqual(other.doubles.haptics.felt.last, .refused, "\(path)")
            XCTAssertTrue(other.says(try XCTUnwrap(other.desk.stuck)), other.outline())
            XCTAssertTrue(try other.find("try-again").enabled, "\(path)")
            try await walk.leave()
            try await other.tap("try-again")
            XCTAssertNil(other.desk.stuck, "\(path)")
            XCTAssertNil(other.maybe("try-again"), other.outline())
            try await other.leave()
            _ = try await walk.put { try $0.sites() }
        }
        try await walk.leave()
    }

    /// Every button of these screens does something.
    @MainActor func testNoButtonIsDead() async throws {
        let walk = try await Walk.counting("dead-around")
        let site = try await walk.put { try $0.sites().sites[0].site }
        for path in [
            [.counting, .weather], [.counting, .visit], [.counting, .notes], [.counting, .advice], [.counting, .outside(site: site)],
            [.settings, .practice],
        ] as [[Place]] {
            try await walk.show(path)
            let dead = try await Inspector(walk).dead()
            XCTAssertEqual(dead, [], "\(path)")
        }
        try await walk.leave()
    }
}
