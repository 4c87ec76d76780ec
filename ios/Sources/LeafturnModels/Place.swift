/// Which screen lies above the list of sites. All that a screen shows comes from the core; this is only where the person is.
public enum Place: Hashable, Sendable {
    case addSite
    case start(site: String)
    case counting
    case undecided, states, hosts, more
    case keyStart, key
    case measure(character: String)
    case practice
    /// Of the open plant, or of one that the review names.
    case details(check: String?)
    case weather, visit, notes
    case outside(site: String)
    case advice
    case review, matching
    case sending
    case join
    case settings
    case cautions, mine, licences
    case site(String), season(String)
}

/// A field that is typed into: the one thing that a screen keeps by itself.
public enum Field: String, CaseIterable, Sendable {
    case siteName, stems, latitude, longitude, air, humidity, observer, beside, station, code, keyNumber
}
