import Foundation
import LeafturnCore
import LeafturnModels
import LeafturnViews
import SwiftUI
import Walking
import XCTest

/// Counting as the hand and the ear do it.
final class HandTests: XCTestCase {
    /// Times in seconds of down and up by the system's event time: contact bounce counts once, quick tapping always.
    func testBounceCountsOnceAndQuickTappingIsNeverDropped() {
        let table: [(touches: [(tile: String, down: Double, up: Double)], counts: Int)] = [
            ([("egg", 1.000, 1.060), ("egg", 1.080, 1.090)], 1),
            ([("egg", 1.000, 1.060), ("egg", 1.109, 1.150)], 1),
            ([("egg", 1.000, 1.060), ("egg", 1.111, 1.150)], 2),
            ([("egg", 1.000, 1.060), ("larva1", 1.080, 1.090)], 2),
            ([("egg", 1.000, 1.040), ("egg", 1.120, 1.160), ("egg", 1.240, 1.280)], 3),
        ]
        for row in table {
            var touches = Touches()
            let counted = row.touches.filter { touch in
                touches.touch(touch.tile, at: Date(timeIntervalSinceReferenceDate: touch.down))
                return touches.lift(touch.tile, at: Date(timeIntervalSinceReferenceDate: touch.up), moved: .zero)
            }
            XCTAssertEqual(counted.count, row.counts, "\(row.touches)")
        }
        var slid = Touches()
        slid.touch("egg", at: Date(timeIntervalSinceReferenceDate: 0))
        XCTAssertFalse(slid.lift("egg", at: Date(timeIntervalSinceReferenceDate: 1), moved: CGSize(width: 0, height: 90)))
    }

    @MainActor func testTheTileIsPressedAtOnceAndTheNumberComesWhenItIsDurable() async throws {
        let walk = try await Walk.counting("pressed")
        let drag = try XCTUnwrap(walk.find("tile-egg").drag)
        drag.changed?(.touch(at: Date(timeIntervalSinceReferenceDate: 1)))
        XCTAssertEqual(walk.desk.touches.pressed, ["egg"], "pressed in the same turn")
        drag.ended?(.touch(at: Date(timeIntervalSinceReferenceDate: 1.1)))
        XCTAssertEqual(try walk.find("tile-egg").value, "0", "no number is provisional")
        XCTAssertEqual(walk.doubles.haptics.felt, [])
        try await walk.settle()
        XCTAssertEqual(try walk.find("tile-egg").value, "1")
        XCTAssertEqual(walk.doubles.haptics.felt, [.counted])
        try await walk.leave()
    }

    @MainActor func testCountedTakenBackAndRefusedFeelDifferentAndARefusalIsShown() async throws {
        let walk = try await Walk.counting("felt")
        try await walk.tap("tile-larva3")
        try await walk.tap("take-back")
        try await walk.tap("tile-larva3")
        walk.desk.empty()
        try await walk.settle()
        XCTAssertEqual(walk.doubles.haptics.felt, [.counted, .takenBack, .counted, .refused])
        XCTAssertTrue(walk.says("Something is counted on this plant"), walk.outline())
        XCTAssertEqual(walk.doubles.speaker.said.first, "larva 3: 1")
        try await walk.tap("notice")
        XCTAssertNil(walk.maybe("notice"))
        try await walk.leave()
    }

    /// A screen reader, a switch or a voice: no touch at all from the pad to the end of the visit.
    @MainActor func testAVisitByAccessibilityActionsAlone() async throws {
        let walk = try await Walk.counting("spoken")
        func act(_ tag: String) async throws {
            let activate = try XCTUnwrap(try walk.find(tag).activate, "\(tag) cannot be activated")
            activate()
            try await walk.settle()
        }
        func adjust(_ tag: String, _ direction: AccessibilityAdjustmentDirection) async throws {
            try XCTUnwrap(try walk.find(tag).adjust)(direction)
            try await walk.settle()
        }
        try await adjust("tile-egg", .increment)
        try await adjust("tile-egg", .increment)
        try await act("tile-larva4")
        try await adjust("tile-egg", .decrement)
        XCTAssertEqual([walk.number("egg"), walk.number("larva4")], [1, 1], "down takes back the last egg, not the larva after it")
        let egg = try walk.find("tile-egg")
        XCTAssertEqual([egg.label, egg.value], ["egg", "1"])
        XCTAssertEqual(egg.named.map(\.name), ["Count one", "Take back"])
        egg.named[1].act()
        try await walk.settle()
        egg.named[0].act()
        try await walk.settle()
        XCTAssertEqual(walk.number("egg"), 1)
        for tag in ["undecided", "undecided-egg+none", "next", "empty", "more", "review", "end"] { try await act(tag) }
        XCTAssertTrue(walk.says("Take back: visit ended"), walk.outline())
        XCTAssertEqual(walk.taps, 0)
        try await walk.leave()
    }

    @MainActor func testKeysOfAKeyboardCount() async throws {
        let walk = try await Walk.counting("keys")
        func press(_ key: Character) async throws -> KeyPress.Result? {
            let node = walk.tree().all.first { $0.key != nil }
            let result = node?.key?(KeyPress(key: KeyEquivalent(key)))
            try await walk.settle()
            return result
        }
        for key: Character in ["1", "1", "6", "u"] { _ = try await press(key) }
        XCTAssertEqual([walk.number("egg"), walk.number("larva5")], [2, 0])
        for key: Character in ["n", "0"] { _ = try await press(key) }
        XCTAssertTrue(walk.says("Plant 3"), walk.outline())
        let unknown = try await press("q")
        XCTAssertEqual(unknown, .ignored)
        try await walk.leave()
    }

    /// Fifty acts as a seed says; what the screen shows is what the journal holds, all the way.
    @MainActor func testManyRandomActs() async throws {
        var chance = Chance(state: 20_260_601)
        let walk = try await Walk.counting("random")
        for at in 0..<50 {
            if walk.maybe("next") == nil {
                // Everything was taken back, also the opening of the first plant.
                try await walk.tap("host-\(Scene.host)")
            }
            let targets = walk.elements().filter {
                $0.enabled && ($0.identifier.hasPrefix("tile-") || ["take-back", "empty", "next"].contains($0.identifier))
            }
            try await walk.touch(targets[Int(chance.next() % UInt64(targets.count))])
            guard at % 20 == 0 else { continue }
            let journal = try await walk.put { try $0.counting() }
            XCTAssertEqual(walk.desk.counting, journal, "after \(at) acts")
            for tile in journal.tiles { XCTAssertEqual(walk.maybe("tile-\(tile.what)")?.value, tile.value) }
        }
        try await walk.leave()
    }

    private struct Chance {
        var state: UInt64
        /// Marsaglia, Xorshift RNGs, Journal of Statistical Software 8(14), 2003.
        mutating func next() -> UInt64 {
            state ^= state << 13
            state ^= state >> 7
            state ^= state << 17
            return state
        }
    }

    func testContrastIsAsPromised() {
        for look in [Look.light, Look.dark] {
            for (one, other) in [(look.ink, look.paper), (look.quiet, look.paper), (look.ink, look.pressed)] {
                XCTAssertGreaterThanOrEqual(Inspector.contrast(one, other), 7)
            }
            XCTAssertGreaterThanOrEqual(Inspector.contrast(look.edge, look.paper), 3)
        }
    }
}
