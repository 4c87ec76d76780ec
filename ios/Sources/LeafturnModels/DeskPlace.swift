import LeafturnCore

/// Where a site is, and all else that is said of it. What it comes to is said by the core.
extension Desk {
    /// Begins to describe a site, unless this one is being described already.
    func describe(_ site: String?, _ record: SiteScreen? = nil) {
        guard own.draft.about != site || own.site?.site != record?.site else { return }
        own.draft = SiteDraft(about: site)
        own.draft.precision = record?.precisions.first(where: \.chosen)?.precision
        own.draft.land = record?.land.first(where: \.chosen)?.name
        own.draft.cousins = record?.otherDanaus.first(where: \.chosen)?.name
        typed[.siteName] = record?.name.value
        typed[.stems] = record?.stems.value
        typed[.latitude] = nil
        typed[.longitude] = nil
    }

    func offered(_ record: SiteScreen) {
        describe(record.site, record)
        own.site = record
    }

    public func choose(_ precision: Precision) { own.draft.precision = precision }

    /// The chosen one again is none.
    public func choose(land: String) { own.draft.land = own.draft.land == land ? nil : land }

    public func choose(cousins: String) { own.draft.cousins = own.draft.cousins == cousins ? nil : cousins }

    /// One fix where the phone is; with several the core takes their middle.
    public func here() { fix { desk, fix in desk.give(.standing(fixes: desk.own.draft.fixes + [fix])) } }

    /// A corner of the edge where the phone is.
    public func corner() { fix { desk, fix in desk.give(.edge(corners: desk.own.draft.corners + [fix])) } }

    /// Places of a file that the person chooses.
    public func openFile() {
        Task {
            guard let content = await device.files.choose() else { return }
            ask({ try $0.placesOfFile(content: content) }) { $0.own.draft.found = $1 }
        }
    }

    public func take(_ found: PlaceFound) {
        give(.found(place: found.place))
        if (typed[.siteName] ?? "").isEmpty { typed[.siteName] = found.name }
    }

    public func saveSite() {
        let draft = own.draft
        let described = SiteTyped(
            name: typed[.siteName] ?? "", place: given, precision: draft.precision, land: draft.land, otherDanaus: draft.cousins,
            stems: typed[.stems] ?? "")
        ask({ try $0.describeSite(site: draft.about, typed: described) }) { desk, record in
            desk.own.draft = SiteDraft(about: nil)
            desk.own.site = nil
            for field in [Field.siteName, .stems, .latitude, .longitude] { desk.typed[field] = nil }
            if draft.about == nil { desk.goHome() } else { desk.offered(record) }
        }
    }

    /// The sites from here, the nearest first.
    public func nearest() {
        fix { desk, fix in desk.ask({ try $0.sitesNear(here: fix) }) { $0.sites = $1 } }
    }

    /// A visit of the list: to go on with it, or to look at it and correct it.
    public func takeInHand(_ visit: String) {
        ask({ try $0.takeInHand(visit: visit) }) { desk, record in
            desk.counting = record
            desk.path = record.ended ? [.review] : [.counting]
        }
    }

    /// What was typed goes before what the phone measured.
    private var given: PlaceGiven {
        let (latitude, longitude) = (typed[.latitude] ?? "", typed[.longitude] ?? "")
        return latitude.isEmpty && longitude.isEmpty ? own.draft.place : .typed(latitude: latitude, longitude: longitude)
    }

    private func give(_ place: PlaceGiven) {
        own.draft.place = place
        let given = given
        core.call({ try $0.sayPlace(place: given) }) { [weak self] outcome in
            switch outcome {
            case .done(let said): self?.own.draft.said = said.text
            // Two corners enclose nothing yet: that is no refusal, but what is still to do.
            case .failed(let failure): self?.own.draft.said = failure.words
            }
        }
    }

    /// Where the phone is; without an answer that is said, and everything else works.
    private func fix(_ then: @escaping @MainActor (Desk, Fix) -> Void) {
        say(word("phone.here-looking"))
        Task {
            guard let fix = await device.whereabouts.ask() else { return say(word("phone.here-no")) }
            guard fix.accuracy <= Self.coarse else { return say(word("phone.here-coarse")) }
            notice = nil
            then(self, Fix(latitude: fix.latitude, longitude: fix.longitude, accuracyM: fix.accuracy))
        }
    }

    /// Metres: a coarser fix is never a site's. As on the sister shell.
    private static let coarse = 100.0
}
