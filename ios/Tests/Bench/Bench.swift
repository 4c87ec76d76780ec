import Foundation
import LeafturnCore
import LeafturnModels

/// A tap through Swift until it is durable and its record is back on the main actor, against a bare durable row in the
/// same folder. Not a test: it is run by name, and a ratio fails nothing. Medians, the two sides by turns, so that a slow
/// disk or another program slows both.
@main struct Bench {
    private static let runs = 400

    @MainActor static func main() async throws {
        let folder = URL(fileURLWithPath: CommandLine.arguments[1])
        try FileManager.default.createDirectory(at: folder, withIntermediateDirectories: true)
        let opening = Opening(
            folder: folder.appendingPathComponent("journal").path, noBackupFolder: folder.appendingPathComponent("marker").path,
            language: "en", offsetMinutes: -300, beside: .own)
        let core = Core { try Leafturn.open(opening: opening) }
        guard case .done = await core.ask({ try visit($0) }) else { throw Unexpected("no visit") }
        let bare = try Bare(at: folder.appendingPathComponent("bare.db"))
        var taps: [Double] = []
        var rows: [Double] = []
        for _ in 0..<runs {
            let began = ContinuousClock.now
            guard case .done = await core.ask({ try $0.count(what: "egg") }) else { throw Unexpected("a tap was refused") }
            let tapped = ContinuousClock.now
            try bare.row()
            taps.append(milliseconds(tapped - began))
            rows.append(milliseconds(ContinuousClock.now - tapped))
        }
        // The first tenth fills caches.
        let (tap, row) = (median(taps.dropFirst(runs / 10)), median(rows.dropFirst(runs / 10)))
        let told = [tap / row, tap, row].map { String(format: "%.2f", $0) }
        let what = "a tap through Swift until its record is back, against a bare durable insert"
        print("ratio: \(told[0]) (aim 1.6) \(what); \(told[1]) ms and \(told[2]) ms")
        await core.close()
    }

    /// An invented visit with an open plant.
    private static func visit(_ core: Leafturn) throws {
        let typed = NewSite(name: "Invented Meadow", latitude: "45", longitude: "-93", accuracyM: nil, precision: .hundredth)
        let site = try core.addSite(site: typed).sites[0].site
        let start = try core.addObserver(site: site, name: "Invented Name")
        let beginning = Beginning(
            site: site, protocol: start.protocols[0].`protocol`, observers: start.observers.map(\.observer), share: .all, beside: "")
        _ = try core.beginVisit(beginning: beginning)
        _ = try core.openPlant(host: "Asclepias syriaca")
    }

    private static func median(_ all: ArraySlice<Double>) -> Double { all.sorted()[all.count / 2] }

    private static func milliseconds(_ time: Duration) -> Double {
        Double(time.components.seconds) * 1_000 + Double(time.components.attoseconds) / 1e15
    }
}
