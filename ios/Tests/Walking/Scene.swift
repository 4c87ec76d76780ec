import LeafturnCore

/// An invented visit, put into the core directly: for tests that look at screens and not at how one gets there.
public enum Scene {
    public static func site(_ core: Leafturn, _ name: String = "Invented Meadow by the Long Ditch") throws -> String {
        let typed = NewSite(name: name, latitude: "45.0012", longitude: "-92.9987", accuracyM: nil, precision: .hundredth)
        guard let made = try core.addSite(site: typed).sites.first(where: { $0.name == name }) else { throw Unexpected("no \(name)") }
        return made.site
    }

    @discardableResult public static func visit(_ core: Leafturn, _ site: String) throws -> CountingScreen {
        let start = try core.addObserver(site: site, name: "Invented Name")
        let beginning = Beginning(
            site: site, protocol: start.protocols[0].`protocol`, observers: start.observers.map(\.observer), share: .all, beside: "")
        return try core.beginVisit(beginning: beginning)
    }

    public static let host = "Asclepias syriaca"

    /// Two plants done, and a third with something of everything on it.
    public static func counting(_ core: Leafturn, _ site: String) throws {
        try visit(core, site)
        _ = try core.openPlant(host: host)
        _ = try core.emptyPlant()
        _ = try core.count(what: "egg")
        _ = try core.nextPlant()
        for _ in 0..<12 { _ = try core.count(what: "egg") }
        for what in ["larva2", "larva2", "larva2", "larva5", "egg+none"] { _ = try core.count(what: what) }
        _ = try core.countInState(what: "larva3", state: "limp-or-blackened")
    }

    /// What a counting screen shows, in one line.
    public static func line(_ shown: CountingScreen) -> String {
        var parts = [shown.title, shown.progress]
        for tile in shown.tiles + shown.undecided { parts.append("\(tile.what)=\(tile.number)") }
        parts.append(shown.takeBack?.text ?? "")
        return parts.joined(separator: "|")
    }
}
