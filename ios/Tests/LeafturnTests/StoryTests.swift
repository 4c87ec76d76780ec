import Foundation
import LeafturnCore
import LeafturnModels
import Walking
import XCTest

/// The whole visit with one thumb, through the views, the real library, Foundation's HTTP and a real station. Everything
/// in it is invented. The views run over our stand-in for SwiftUI: that they pass says that they are consistent with it.
final class StoryTests: XCTestCase {
    struct Story: Decodable {
        struct Site: Decodable { let name: String, latitude: String, longitude: String }
        let site: Site, observer: String, host: String, plants: [[String]]
    }

    private static func story() throws -> Story {
        let file = package.deletingLastPathComponent().appendingPathComponent("tests/story/story.json")
        return try JSONDecoder().decode(Story.self, from: Data(contentsOf: file))
    }

    @MainActor func testAVisitFromTheFirstTapToTheStation() async throws {
        let story = try Self.story()
        let folder = try scratch("story")
        let walk = Walk(folder: folder)
        try await walk.begin()
        let site = try await addSite(walk, story)
        try await walk.tap("site-\(site)")
        try walk.type("field-observer", story.observer)
        try await walk.tap("add-observer")
        try await walk.tap("begin")
        try await walk.tap("host-\(story.host)")

        let before = walk.taps
        var tally: [String: Int] = [:]
        var counts = 0
        for (at, acts) in story.plants.enumerated() {
            XCTAssertTrue(walk.says("Plant \(at + 1)"), walk.outline())
            counts += try await plant(walk, acts, &tally)
        }
        let spent = walk.taps - before
        let allowed = 2 * counts + 2 * story.plants.count
        print("taps: \(spent) for \(counts) counts on \(story.plants.count) plants, \(allowed) allowed")
        XCTAssertLessThanOrEqual(spent, allowed)

        // The journal so far, to be compared with what the other languages make of the same story.
        let journal = folder.deletingLastPathComponent().appendingPathComponent("story-swift.gz")
        _ = try await walk.put { try $0.exportTo(path: journal.path) }

        // Another process goes on with the same journal and is killed in the middle of it.
        try await walk.leave()
        let died = try killed(folder, after: 13)
        let again = Walk(folder: folder)
        try await again.begin()
        try await again.tap("go-on")
        let shown = Scene.line(try XCTUnwrap(again.desk.counting))
        XCTAssertTrue(follows(died, shown), "\(shown) is neither the last that was shown nor the next: \(died.suffix(3))")
        try await add(&tally, again, after: story.plants.count)

        try await again.tap("more")
        try await again.tap("review")
        try await again.tap("end")
        try await again.tap("take-back")
        try await again.tap("end")
        XCTAssertNotNil(again.maybe("take-back"), again.outline())

        let station = try Station(folder: folder.appendingPathComponent("station"))
        try await again.tap("sending")
        try await again.tap("join")
        try again.type("field-station", station.address)
        try again.type("field-code", try station.invite(site))
        let waiting = try await again.put { try $0.sites().waits }
        try await again.tap("join-now")
        try await again.until("all sent") { again.says("All sent") && again.maybe("send-now") != nil }
        try compare(station, tally, waiting)
        try await again.leave()
    }

    @MainActor private func addSite(_ walk: Walk, _ story: Story) async throws -> String {
        try await walk.tap("add-site")
        try walk.type("field-siteName", story.site.name)
        try walk.type("field-latitude", story.site.latitude)
        try walk.type("field-longitude", story.site.longitude)
        try await walk.tap("save")
        let rows = walk.tagged("site-")
        XCTAssertEqual(rows.count, 1, walk.outline())
        return String(rows[0].identifier.dropFirst("site-".count))
    }

    /// One plant; returns how many counts it took.
    @MainActor private func plant(_ walk: Walk, _ acts: [String], _ tally: inout [String: Int]) async throws -> Int {
        var last = ""
        for what in acts {
            if what == "-" {
                try await walk.tap("take-back")
                tally[last, default: 0] -= 1
                continue
            }
            if what.contains("+") {
                try await walk.tap("undecided")
                try await walk.tap("undecided-\(what)")
            } else {
                try await walk.tap("tile-\(what)")
            }
            tally[what, default: 0] += 1
            last = what
        }
        try await walk.tap(acts.isEmpty ? "empty" : "next")
        return acts.count
    }

    // MARK: The other process

    /// Starts it, kills it after so many acts, and returns what it showed, act by act.
    private func killed(_ folder: URL, after acts: Int) throws -> [String] {
        let process = Process()
        process.executableURL = URL(fileURLWithPath: CommandLine.arguments[0]).deletingLastPathComponent().appendingPathComponent("Teller")
        process.arguments = [folder.path]
        let said = Pipe()
        process.standardOutput = said
        try process.run()
        let lines = Lines(said.fileHandleForReading)
        var shown: [String] = []
        while shown.count <= acts {
            let line = try XCTUnwrap(lines.next(), "it ended by itself after \(shown)")
            if line.hasPrefix("shown: ") { shown.append(String(line.dropFirst(7))) }
        }
        kill(process.processIdentifier, SIGKILL)
        while let line = lines.next() { if line.hasPrefix("shown: ") { shown.append(String(line.dropFirst(7))) } }
        process.waitUntilExit()
        XCTAssertEqual(process.terminationReason, .uncaughtSignal)
        XCTAssertEqual(process.terminationStatus, SIGKILL)
        return shown
    }

    /// The act that was under way when the kill came is there or not; no other difference is allowed.
    private func follows(_ died: [String], _ shown: String) -> Bool {
        guard let last = died.last else { return false }
        let plant = { (line: String) in line.prefix { $0 != "|" } }
        let number = Int(plant(last).drop { !$0.isNumber }) ?? 0
        return shown == last || plant(shown) == plant(last) || plant(shown) == "Plant \(number + 1)"
    }

    /// What the killed process left in the journal, from the review of the phone itself: the open plant is finished.
    @MainActor private func add(_ tally: inout [String: Int], _ walk: Walk, after plants: Int) async throws {
        try await walk.tap("next")
        let rows = try await walk.put { try $0.review().rows }.dropFirst(plants)
        XCTAssertFalse(rows.isEmpty)
        for row in rows {
            tally["larva2", default: 0] += number(after: "larva 2: ", in: row.found)
            tally["egg+none", default: 0] += number(after: "egg, or not an egg: ", in: row.found)
        }
    }

    private func number(after words: String, in text: String) -> Int {
        text.range(of: words).flatMap { Int(text[$0.upperBound...].prefix { $0.isNumber }) } ?? 0
    }

    private func compare(_ station: Station, _ tally: [String: Int], _ waiting: String) throws {
        let check = try station.check()
        for fault in ["holes", "forked", "undecodable"] { XCTAssertEqual(check[fault] as? Int, 0, "\(check)") }
        XCTAssertEqual(check["entries"] as? Int, Int(waiting.filter(\.isNumber)), "\(check)")
        func first(_ value: Any?, _ name: String) throws -> [String: Any] {
            try XCTUnwrap((value as? [String: Any])?[name] as? [[String: Any]]).first!
        }
        let visit = try first(first(first(station.report(), "sites"), "seasons"), "visits")
        let cells = try XCTUnwrap(visit["cells"] as? [[String: Any]])
        for stage in ["egg", "larva1", "larva2", "larva3", "larva4", "larva5"] {
            let animals = cells.first { $0["stage"] as? String == stage }?["animals"] as? Int
            XCTAssertEqual(animals ?? 0, tally[stage] ?? 0, "\(stage) in \(visit)")
        }
        let undecided = cells.first { $0["stage"] as? String == "egg" }?["undecided"] as? Int
        XCTAssertEqual(undecided, tally["egg+none"])
    }
}
