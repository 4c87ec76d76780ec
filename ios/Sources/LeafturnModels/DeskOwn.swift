import LeafturnCore

/// What belongs to the person: settings, what the phone keeps of them, what to be careful about.
extension Desk {
    // MARK: Settings

    public func choose(_ name: String, _ group: Settings.Group) { keep(settings.choosing(name, group)) }

    public func toggle(setting name: String) { keep(settings.toggling(name)) }

    /// A press is kept at once; all words come again, for the language may be another one.
    private func keep(_ chosen: SettingsChosen?) {
        guard let chosen else { return }
        let own = language
        let before = settings.record?.languages.first(where: \.chosen)?.name
        ask({ core in
            _ = try core.changeSettings(chosen: chosen)
            if chosen.language.isEmpty { _ = try core.setLanguage(tag: own) }
            return (try core.words(), try core.settings())
        }) { desk, kept in
            desk.words = kept.0
            desk.settings.record = kept.1
            if chosen.language != before { desk.drawAgain() }
        }
    }

    // MARK: My data

    public func forget(observer: String) { ask({ try $0.forgetObserver(observer: observer) }) { $0.own.mine = $1 } }

    public func askToDelete() { own.deleting = true }

    /// Deletes all of it, and forgets what the shell keeps besides: token, address, what was typed.
    public func deleteEverything() {
        ask({ try $0.deleteEverything() }) { desk, record in
            desk.vault.keep(token: nil)
            desk.station.text = ""
            desk.typed = [:]
            desk.chosen = Chosen()
            desk.forgetScreens()
            desk.own.mine = record
            desk.begin()
        }
    }

    // MARK: Before going out

    public func feelHeat() {
        let (air, humidity) = (typed[.air] ?? "", typed[.humidity] ?? "")
        ask({ try $0.heat(air: air, humidity: humidity) }) { $0.own.heat = $1 }
    }

    // MARK: Season

    func offered(_ record: SeasonScreen, of site: String) {
        own.season = record
        own.charts = [:]
        for drawing in record.seasons.flatMap(\.drawings) {
            ask({ try $0.seasonDrawing(site: site, drawing: drawing, width: Self.chart) }) { $0.own.charts[drawing] = $1 }
        }
    }

    /// Width of a chart in its own units: the room between the margins of the narrowest phone.
    private nonisolated static let chart: UInt32 = 288
}
