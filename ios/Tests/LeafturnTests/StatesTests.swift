import Foundation
import LeafturnCore
import LeafturnModels
import LeafturnViews
import Walking
import XCTest

/// Sites, season, sending, joining and what belongs to the person, in every state in which a person may meet them.
final class StatesTests: XCTestCase {
    private static func places(_ site: String) -> [[Place]] {
        [
            [], [.start(site: site), .site(site)], [.start(site: site), .season(site)], [.sending], [.sending, .join], [.settings],
            [.settings, .cautions], [.settings, .mine],
        ]
    }

    /// What can be touched, but for the system's own way back and what is said.
    @MainActor private func controls(_ walk: Walk) -> [String] {
        walk.elements().filter { $0.isControl && !["system-back", "notice"].contains($0.identifier) }.map(\.identifier)
    }

    /// Until the core has answered there is nothing to press, and nothing that pretends to be there.
    @MainActor func testLoading() async throws {
        for place in Self.places("01a21450-4f6c-72af-938d-7c354e108b96") {
            let walk = Walk(folder: try scratch("loading"))
            walk.desk.path = place
            XCTAssertEqual(controls(walk), [], "\(place)")
            XCTAssertEqual(Inspector(walk).faults(), [], "\(place)")
            try await walk.leave()
        }
    }

    @MainActor func testEmpty() async throws {
        let walk = Walk(folder: try scratch("empty"))
        try await walk.begin()
        XCTAssertTrue(walk.says(try XCTUnwrap(walk.desk.sites?.none)), walk.outline())
        XCTAssertNil(walk.maybe("near"), "without sites there is no order of them")
        let site = try await walk.put { try Scene.site($0) }
        try await walk.show([.start(site: site), .season(site)])
        XCTAssertTrue(walk.says(try XCTUnwrap(walk.desk.own.season?.none)), walk.outline())
        XCTAssertTrue(walk.elements().allSatisfy { $0.identifier != "drawing" })
        try await walk.show([.start(site: site), .site(site)])
        XCTAssertTrue(walk.tagged("visit-").isEmpty)
        try await walk.show([.settings, .mine])
        XCTAssertTrue(walk.tagged("forget-").isEmpty)
        try await walk.leave()
    }

    /// Another process holds the journal: each screen says so, and offers nothing of what it cannot do.
    @MainActor func testError() async throws {
        let walk = try await Walk.counting("error")
        let site = try await walk.put { try $0.sites().sites[0].site }
        for place in Self.places(site) {
            let other = Walk(folder: walk.folder)
            try await other.show(place)
            XCTAssertEqual(other.doubles.haptics.felt.first, .refused, "\(place)")
            XCTAssertNotNil(other.desk.notice, "\(place)")
            XCTAssertEqual(controls(other).filter { $0 != "try-again" }, [], "\(place)")
            try await other.leave()
        }
        try await walk.leave()
    }

    /// Nobody answers: that is said, everything is kept, counting goes on, and sending is offered again.
    @MainActor func testOffline() async throws {
        let walk = try await Walk.counting("offline")
        try await walk.show([.sending, .join])
        try walk.type("field-station", "http://127.0.0.1:9")
        try walk.type("field-code", "BCD-FGH-JKL")
        try await walk.tap("join-now")
        try await walk.until("no answer") { !walk.desk.busy && walk.desk.sending != nil && walk.desk.core.waiting == 0 }
        try await walk.show([.sending])
        XCTAssertNotEqual(walk.desk.sending?.allSent, true)
        XCTAssertEqual(Inspector(walk).faults(), [])
        let said = try await walk.put { try $0.sending() }
        for line in said.lines { XCTAssertTrue(walk.says(line), line) }
        try await walk.show([.counting])
        try await walk.tap("tile-egg")
        XCTAssertEqual(walk.number("egg"), 1)
        try await walk.leave()
    }

    /// A storage without room: what cannot be kept is refused in words, and nothing on the screen says otherwise.
    @MainActor func testFullDisk() async throws {
        let disk = try Disk(at: scratch("full"))
        let walk = Walk(folder: disk.folder)
        try await walk.begin()
        let site = try await walk.put { try Scene.site($0) }
        try await walk.show([.settings])
        try disk.fill()
        var refused = false
        for _ in 0..<40 where !refused {
            try await walk.tap("hand-\(walk.desk.settings.hand == .left ? "right" : "left")")
            refused = walk.doubles.haptics.felt.last == .refused
        }
        XCTAssertTrue(refused, "the storage was never full")
        let hand = walk.desk.settings.hand
        XCTAssertEqual(try walk.find("hand-\(hand.rawValue)").traits.contains(.isSelected), true)
        XCTAssertNotNil(walk.desk.notice)
        try await walk.show([.start(site: site), .site(site)])
        try walk.type("field-siteName", "never kept")
        try await walk.tap("save")
        XCTAssertEqual(walk.doubles.haptics.felt.last, .refused)
        XCTAssertEqual(walk.desk.typed[.siteName], "never kept", "what was typed is not lost")
        try disk.free()
        try await walk.tap("save")
        let name = try await walk.put { try $0.site(site: site).name.value }
        XCTAssertEqual(name, "never kept")
        try await walk.leave()
    }

    /// A storage that lets itself be read alone: said at the start, nothing is shown that is not there.
    @MainActor func testReadOnly() async throws {
        let disk = try Disk(at: scratch("read-only"))
        let before = Walk(folder: disk.folder)
        try await before.begin()
        _ = try await before.put { try Scene.site($0) }
        try await before.leave()
        try disk.lock()
        let walk = Walk(folder: disk.folder)
        try await walk.begin()
        XCTAssertEqual(walk.doubles.haptics.felt.first, .refused)
        XCTAssertNotNil(walk.desk.notice)
        XCTAssertEqual(controls(walk).filter { $0 != "try-again" }, [])
        try await walk.leave()
    }
}
