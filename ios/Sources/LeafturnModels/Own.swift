import LeafturnCore

/// The records of sites, season, sending and the person, each as the core gave it, and what was chosen there and is not
/// yet saved.
public struct Own: Sendable {
    public internal(set) var season: SeasonScreen?
    public internal(set) var charts: [SeasonDrawing: Drawing] = [:]
    public internal(set) var mine: MineScreen?
    /// Deleting everything was pressed once: it has to be confirmed.
    public internal(set) var deleting = false
    public internal(set) var cautions: CautionsScreen?
    public internal(set) var heat: HeatScreen?
    public internal(set) var licences: [Licence] = []
    public internal(set) var join: JoinScreen?
    public internal(set) var site: SiteScreen?
    public internal(set) var precisions: [PrecisionChoice] = []
    public internal(set) var draft = SiteDraft(about: nil)
}

/// A site as it is being described.
public struct SiteDraft: Equatable, Sendable {
    /// Its id; nil where it is to be added.
    public let about: String?
    public internal(set) var precision: Precision?
    public internal(set) var land: String?
    public internal(set) var cousins: String?
    public internal(set) var place = PlaceGiven.notSaid
    /// The place in the core's words, or what is wrong with it.
    public internal(set) var said: String?
    public internal(set) var found: PlacesFound?

    init(about: String?) { self.about = about }

    /// Where one stood.
    var fixes: [Fix] { if case .standing(let fixes) = place { fixes } else { [] } }
    /// Corners of the edge so far.
    public var corners: [Fix] { if case .edge(let corners) = place { corners } else { [] } }
    /// Which of the places of a file was chosen.
    public var foundPlace: String? { if case .found(let place) = place { place } else { nil } }
}
