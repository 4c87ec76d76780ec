import Foundation
import LeafturnCore
import LeafturnModels
import LeafturnViews
import Walking
import XCTest

/// Settings, what the phone keeps of a person, sites and the season, as a person meets them.
final class OwnTests: XCTestCase {
    @MainActor private func fresh(_ name: String) async throws -> Walk {
        let walk = Walk(folder: try scratch(name))
        try await walk.begin()
        return walk
    }

    // MARK: Settings

    /// Each press is the core's: another process that opens the same journal looks and speaks as it was set.
    @MainActor func testSettingsAreKeptByTheCore() async throws {
        let walk = try await fresh("settings")
        try await walk.tap("settings")
        for tag in ["hand-left", "theme-dark", "language-fr", "units-imperial", "buzz", "sound"] { try await walk.tap(tag) }
        XCTAssertEqual(walk.desk.settings.record?.title, "Réglages")
        XCTAssertTrue(walk.says("Avant de partir"), walk.outline())
        XCTAssertEqual(walk.desk.settings.hand, .left)
        try await walk.leave()
        let again = Walk(folder: walk.folder)
        try await again.begin()
        XCTAssertEqual([again.desk.settings.hand == .left, again.desk.settings.theme == .dark], [true, true])
        XCTAssertEqual([again.desk.settings.buzz, again.desk.settings.sound], [false, true])
        let next = try await again.put { try $0.words()["phone.next"] }
        XCTAssertEqual(again.desk.word("phone.next"), next)
        try await again.tap("settings")
        XCTAssertEqual(again.desk.settings.record?.title, "Réglages")
        // As the phone again.
        try await again.tap("language-")
        XCTAssertTrue(again.says("Before you go"), again.outline())
        try await again.leave()
    }

    @MainActor func testSoundAndSpeechAreAsSet() async throws {
        let walk = try await Walk.counting("loud")
        try await walk.tap("tile-egg")
        XCTAssertEqual([walk.doubles.loudspeaker.heard.count, walk.doubles.speaker.aloud.count], [0, 0])
        try await walk.show([.settings])
        for tag in ["sound", "lens-mode", "buzz"] { try await walk.tap(tag) }
        try await walk.show([.counting])
        try await walk.tap("tile-egg")
        try await walk.tap("take-back")
        XCTAssertEqual(walk.doubles.loudspeaker.heard, [.counted, .takenBack])
        XCTAssertEqual(walk.doubles.haptics.felt, [.counted], "only before it was set off")
        XCTAssertEqual(walk.doubles.speaker.aloud.first, "egg: 2")
        try await walk.leave()
    }

    // MARK: My data

    @MainActor func testMyDataIsSeenHandedOverAndDeletedAfterASecondPress() async throws {
        let walk = try await Walk.counting("mine")
        walk.desk.type("https://station.example", into: .station)
        try await walk.show([.settings, .mine])
        XCTAssertTrue(walk.says("Invented Name"), walk.outline())
        try await walk.tap(try XCTUnwrap(walk.tagged("forget-").first).identifier)
        XCTAssertFalse(walk.says("Invented Name"), walk.outline())
        try await walk.tap("export")
        XCTAssertEqual(walk.doubles.sheet.shared.count, 1)
        XCTAssertTrue(FileManager.default.fileExists(atPath: try XCTUnwrap(walk.doubles.sheet.shared.first).path))
        if walk.maybe("notice") != nil { try await walk.tap("notice") }
        try await walk.tap("delete")
        let once = try await walk.put { try $0.sites().sites.count }
        XCTAssertEqual(once, 1, "once is not enough")
        let lead = try XCTUnwrap(walk.desk.own.mine?.deleteLead)
        XCTAssertTrue(try walk.find("delete-sure").label.contains(lead), "what it means is spoken")
        try await walk.tap("delete-sure")
        let left = try await walk.put { try $0.sites().sites.count }
        XCTAssertEqual(left, 0)
        XCTAssertNil(walk.desk.counting)
        XCTAssertEqual(walk.desk.typed, [:])
        try await walk.show([])
        XCTAssertNil(walk.maybe("go-on"))
        try await walk.leave()
    }

    // MARK: Before going out

    @MainActor func testHeatIsFeltFromWhatWasTypedAndNonsenseIsRefused() async throws {
        let walk = try await fresh("heat")
        try await walk.show([.settings, .cautions])
        XCTAssertEqual(walk.desk.own.cautions?.cards.count, 6)
        try walk.type("field-air", "warm")
        try walk.type("field-humidity", "70")
        try await walk.tap("heat")
        XCTAssertEqual(walk.doubles.haptics.felt, [.refused])
        XCTAssertNil(walk.desk.own.heat)
        try await walk.tap("notice")
        try walk.type("field-air", "32")
        try await walk.tap("heat")
        let heat = try XCTUnwrap(walk.desk.own.heat)
        XCTAssertTrue(walk.says(heat.index) && walk.says(heat.category), walk.outline())
        try await walk.leave()
    }

    // MARK: Sites

    @MainActor func testASiteByWalkingAroundIt() async throws {
        let walk = try await fresh("edge")
        try await walk.tap("add-site")
        try walk.type("field-siteName", "Invented Corner Field")
        for (latitude, longitude) in [(45.0, -93.0), (45.001, -93.0), (45.001, -92.999)] {
            walk.doubles.place.fix = DeviceFix(latitude: latitude, longitude: longitude, accuracy: 5)
            let before = walk.doubles.place.asked
            try await walk.tap("corner")
            try await walk.until("a corner") { walk.doubles.place.asked > before && walk.desk.notice == nil }
        }
        XCTAssertEqual(walk.desk.own.draft.corners.count, 3)
        XCTAssertTrue(walk.desk.own.draft.said?.contains("m²") == true, "\(walk.desk.own.draft.said ?? "nothing") is no area")
        XCTAssertEqual(walk.doubles.haptics.felt, [], "two corners are no refusal")
        try await walk.tap("save")
        try await walk.tap(try XCTUnwrap(walk.tagged("site-").first).identifier)
        try await walk.tap("about-site")
        XCTAssertTrue(walk.says("m²"), walk.outline())
        try await walk.leave()
    }

    @MainActor func testACoarseFixAndNoFixAreSaidAndNothingIsTaken() async throws {
        let walk = try await fresh("coarse")
        try await walk.tap("add-site")
        try await walk.tap("here")
        try await walk.until("no fix") { walk.desk.notice?.text == walk.desk.word("phone.here-no") }
        walk.doubles.place.fix = DeviceFix(latitude: 45, longitude: -93, accuracy: 2_000)
        walk.desk.takeNotice()
        try await walk.tap("here")
        try await walk.until("a coarse fix") { walk.desk.notice?.text == walk.desk.word("phone.here-coarse") }
        XCTAssertEqual(walk.desk.own.draft.place, .notSaid)
        try await walk.leave()
    }

    @MainActor func testASiteOfAFile() async throws {
        let walk = try await fresh("file")
        try await walk.tap("add-site")
        walk.doubles.files.content = Data("no places".utf8)
        try await walk.tap("from-file")
        try await walk.until("a refusal") { walk.doubles.haptics.felt == [.refused] }
        walk.desk.takeNotice()
        let gpx = """
            <gpx version="1.1" creator="invented" xmlns="http://www.topografix.com/GPX/1/1">
            <wpt lat="45.5" lon="-93.5"><name>Invented Ditch</name></wpt></gpx>
            """
        walk.doubles.files.content = Data(gpx.utf8)
        try await walk.tap("from-file")
        try await walk.until("its places") { walk.desk.own.draft.found != nil }
        try await walk.tap("found-0")
        XCTAssertEqual(walk.desk.typed[.siteName], "Invented Ditch")
        try await walk.tap("save")
        XCTAssertTrue(walk.says("Invented Ditch"), walk.outline())
        try await walk.leave()
    }

    @MainActor func testTheNearestSiteComesFirst() async throws {
        let walk = try await fresh("near")
        _ = try await walk.put { try Scene.site($0, "Alpha, far") }
        _ = try await walk.put { core in
            let typed = NewSite(name: "Omega, near", latitude: "46", longitude: "-94", accuracyM: nil, precision: .hundredth)
            return try core.addSite(site: typed)
        }
        try await walk.show([])
        XCTAssertEqual(walk.desk.sites?.sites.map(\.name), ["Alpha, far", "Omega, near"])
        walk.doubles.place.fix = DeviceFix(latitude: 46.01, longitude: -94, accuracy: 5)
        try await walk.tap("near")
        try await walk.until("the order") { walk.desk.sites?.sites.first?.name == "Omega, near" }
        XCTAssertTrue(walk.says("km"), walk.outline())
        try await walk.leave()
    }

    @MainActor func testASiteIsDescribedAndAVisitOfItTakenInHand() async throws {
        let walk = try await Walk.counting("site")
        let site = try await walk.put { try $0.sites().sites[0].site }
        try await walk.show([.start(site: site), .site(site)])
        try walk.type("field-stems", "40")
        try walk.type("field-siteName", "Invented Meadow, renamed")
        for tag in ["precision-tenth", "land-private", "cousins-none", "save"] { try await walk.tap(tag) }
        let kept = try await walk.put { try $0.site(site: site) }
        XCTAssertEqual([kept.name.value, kept.stems.value], ["Invented Meadow, renamed", "40"])
        XCTAssertEqual(kept.precisions.first(where: \.chosen)?.precision, .tenth)
        XCTAssertEqual((kept.land + kept.otherDanaus).filter(\.chosen).map(\.name), ["private", "none"])
        try await walk.tap(try XCTUnwrap(walk.tagged("visit-").first).identifier)
        XCTAssertNotNil(walk.maybe("tile-egg"), walk.outline())
        try await walk.leave()
    }

    // MARK: Season

    /// An invented visit that has ended: charts have words for those who do not see them.
    @MainActor func testTheSeasonHasChartsWithWords() async throws {
        let walk = try await Walk.counting("season")
        let site = try await walk.put { core in
            for _ in 0..<5 {
                _ = try core.count(what: "egg")
                _ = try core.nextPlant()
            }
            _ = try core.emptyPlant()
            _ = try core.endVisit()
            return try core.sites().sites[0].site
        }
        try await walk.show([.start(site: site)])
        try await walk.tap("season")
        let charts = walk.elements().filter { $0.identifier == "drawing" }
        XCTAssertEqual(charts.count, 2, walk.outline())
        for chart in charts { XCTAssertFalse(chart.label.isEmpty || chart.value.isEmpty, "\(chart.label): \(chart.value)") }
        XCTAssertTrue(walk.says(try XCTUnwrap(walk.desk.own.season?.note)))
        try await walk.leave()
    }
}
