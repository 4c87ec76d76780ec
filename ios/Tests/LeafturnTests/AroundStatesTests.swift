import Foundation
import LeafturnCore
import LeafturnViews
import SwiftUI
import Walking
import XCTest

@testable import LeafturnModels

/// Counting and the screens around it where no room is left, and by a screen reader alone; and views of them with one
/// mistake each.
final class AroundStatesTests: XCTestCase {
    /// What was shown as counted is there; what is refused is said; what was typed waits for room.
    @MainActor func testFullDiskWhileCounting() async throws {
        let disk = try Disk(at: scratch("full-around"))
        let walk = try await Walk.counting(in: disk.folder)
        let site = try await walk.put { try $0.sites().sites[0].site }
        try disk.fill()
        var taps = 0
        while walk.doubles.haptics.felt.last != .refused, taps < 400 {
            try await walk.tap("tile-egg")
            taps += 1
        }
        XCTAssertEqual(walk.doubles.haptics.felt.last, .refused, "the storage was never full")
        XCTAssertNotNil(walk.maybe("notice"), walk.outline())
        let journal = try await walk.put { try $0.counting() }
        XCTAssertEqual(walk.number("egg"), taps - 1, "the last tap was refused, and no other")
        XCTAssertEqual(walk.desk.counting?.tiles, journal.tiles)
        walk.desk.takeNotice()
        for (path, field, button) in [
            ([Place.counting, .details(check: nil)], "height", "save"), ([.counting, .visit], "minutes", "save"),
            ([.counting, .notes], "text", "add-note"), ([.counting, .weather], "air", "save"),
        ] {
            try await walk.show(path)
            try walk.type("field-\(field)", "12")
            try await walk.tap(button)
            XCTAssertEqual(walk.doubles.haptics.felt.last, .refused, "\(path)")
            XCTAssertNotNil(walk.maybe("notice"), "\(path)")
            XCTAssertEqual(try walk.find("field-\(field)").value, "12", "what was typed is not lost")
            walk.desk.takeNotice()
        }
        try await walk.show([.counting, .outside(site: site)])
        try await walk.tap("what-egg")
        try await walk.tap("on-ground")
        try await walk.tap("save")
        XCTAssertEqual(walk.desk.sheets.outside?.finds.count, 0)
        try await walk.show([.counting, .review])
        try await walk.tap("end")
        XCTAssertEqual(walk.desk.review?.ended, false, "nothing says that it has ended")
        try disk.free()
        try await walk.tap("end")
        XCTAssertEqual(walk.desk.review?.ended, true)
        try await walk.leave()
    }

    /// No touch at all: every screen around counting by activating and adjusting alone.
    @MainActor func testTheScreensAroundCountingByActionsAlone() async throws {
        let walk = try await Walk.counting("around-spoken")
        func act(_ tag: String) async throws {
            let activate = try XCTUnwrap(try walk.find(tag).activate, "\(tag) cannot be activated")
            activate()
            try await walk.settle()
        }
        for tag in ["more", "details", "condition-cut"] { try await act(tag) }
        try walk.type("field-height", "40")
        for tag in ["save", "weather", "wind-2", "save", "notes"] { try await act(tag) }
        try walk.type("field-text", "an invented note")
        try await act("add-note")
        try await act(try XCTUnwrap(walk.tagged("erase-").first).identifier)
        try await walk.show([.counting, .more])
        for tag in ["outside", "what-larva5", "on-ground", "save"] { try await act(tag) }
        let details = try await walk.put { try $0.details(check: nil) }
        XCTAssertEqual([details.height.value, details.condition.first(where: \.chosen)?.name], ["40", "cut"])
        let weather = try await walk.put { try $0.weather() }
        XCTAssertEqual(weather.wind.filter(\.chosen).map(\.name), ["2"])
        XCTAssertEqual(walk.desk.sheets.outside?.finds.count, 1)
        try await walk.show([.settings])
        try await act("practice")
        try await act(try XCTUnwrap(walk.tagged("practice-").first).identifier)
        XCTAssertTrue(walk.says(try XCTUnwrap(walk.desk.sheets.marks).verdict), walk.outline())
        XCTAssertEqual(walk.taps, 0)
        try await walk.leave()
    }

    // MARK: Wrong views

    /// A number of a few and a grip, as they could have been written: right, but for the mistake.
    private struct Around: View {
        let desk: Desk
        let mistake: Mistake
        private let look = Look.light

        var body: some View {
            VStack(spacing: Look.gap) {
                if mistake == .deadStep {
                    Press(look, desk.word("phone.add-one"), tag: "more-0-egg") {}
                } else {
                    Press(look, desk.word("phone.add-one"), tag: "more-0-egg") { desk.go(.more) }
                }
                grip
            }
            .padding(.horizontal, Look.gap)
        }

        private var grip: some View {
            let side = mistake == .smallGrip ? 30 : Look.grip
            return RoundedRectangle(cornerRadius: side / 2).strokeBorder(look.ink, lineWidth: 2)
                .frame(width: side, height: side)
                .contentShape(Rectangle())
                .gesture(DragGesture(minimumDistance: 0).onEnded { _ in desk.go(.more) })
                .accessibilityElement(children: .ignore)
                .accessibilityLabel(Text(verbatim: mistake == .namelessGrip ? "" : desk.word("phone.measure")))
                .accessibilityValue(Text(verbatim: mistake == .muteGrip ? "" : desk.word("phone.measure-line")))
                .accessibilityAdjustableAction { _ in desk.go(.more) }
                .accessibilityIdentifier("grip-animal-0")
        }
    }

    private enum Mistake: String, CaseIterable { case none, deadStep, smallGrip, namelessGrip, muteGrip }

    private static let names: [Mistake: String] = [
        .deadStep: "more-0-egg does nothing", .smallGrip: "at least 44 is wanted", .namelessGrip: "says nothing to a screen reader",
        .muteGrip: "has no value",
    ]

    @MainActor func testEveryMistakeInAStepAndAGripIsNamed() async throws {
        for mistake in Mistake.allCases {
            let walk = Walk(folder: try scratch("wrong-\(mistake.rawValue)")) { desk in
                { values in Node.tree(of: Around(desk: desk, mistake: mistake).environment(desk), in: values) }
            }
            try await walk.begin()
            let inspector = Inspector(walk)
            var found = inspector.faults()
            found += try await inspector.dead()
            if let name = Self.names[mistake] {
                XCTAssertTrue(found.contains { $0.contains(name) }, "\(mistake.rawValue) was not noticed: \(found)")
            } else {
                XCTAssertEqual(found, [], "the views without a mistake")
            }
            try await walk.leave()
        }
    }
}
