import Foundation
import LeafturnCore
import Observation

/// What is said beside a screen: why an act was refused, that something was saved.
public struct Notice: Equatable, Sendable {
    public let text: String
    /// Whether a tap of it opens a journal beside that of a newer version.
    public let offersBeside: Bool
}

/// The one model. It knows where the person is, holds the record of each screen as the core gave it, and forwards acts.
/// No number in it is its own.
@MainActor @Observable public final class Desk {
    public internal(set) var sites: SitesScreen?
    public internal(set) var start: StartScreen?
    public internal(set) var counting: CountingScreen?
    public internal(set) var review: ReviewScreen?
    public internal(set) var sending: SendingScreen?
    public internal(set) var keyStart: KeyStartScreen?
    public internal(set) var key: KeyScreen?
    /// The question whose answer is being changed.
    public internal(set) var keyChanged: KeyQuestion?
    /// The records of the screens around counting.
    public internal(set) var sheets = Sheets()
    public internal(set) var words: [String: String] = [:]
    public internal(set) var notice: Notice?
    /// Why the record of this screen could not be had, and what to do.
    public internal(set) var stuck: String?
    public internal(set) var drawings: [String: Drawing] = [:]
    public internal(set) var touches = Touches()
    /// A sending is under way.
    public internal(set) var busy = false
    public internal(set) var settings = Settings()
    /// The records of sites, season and the person.
    public internal(set) var own = Own()

    /// What was typed and not yet saved.
    public internal(set) var typed: [Field: String] = [:]
    public internal(set) var chosen = Chosen()

    /// The screens above the list of sites; the system changes it too, when it leads back.
    public var path: [Place] = [] {
        didSet { if path != oldValue { arrived() } }
    }

    @ObservationIgnored public let core: Core
    @ObservationIgnored let station: StationAddress
    /// The tag of the phone's own language.
    @ObservationIgnored let language: String
    @ObservationIgnored let device: Device
    @ObservationIgnored let vault: any Vault
    @ObservationIgnored let run: SendRun
    @ObservationIgnored let exports: URL
    @ObservationIgnored private let beside: BesideChoice
    @ObservationIgnored private var asked: Set<String> = []

    /// What was chosen before a visit or a site, and not yet saved.
    public struct Chosen: Equatable, Sendable {
        public var site = ""
        public var proto = ""
        public var observers: Set<String> = []
        public var share = ShareOfPlants.all
        public var means: Set<String> = []
        /// The states chosen so far while one is in doubt between them.
        public var doubt: Set<String>?
    }

    /// Opens the journal at the first call. Where it cannot be opened, each further call tries again.
    public init(
        folders: Folders, kept: any Keeping, vault: any Vault, device: Device, language: String = phoneLanguage(),
        cleartext: Wire.Cleartext = .refused, open: @escaping @Sendable (Opening) throws -> Leafturn = { try Leafturn.open(opening: $0) }
    ) {
        let beside = BesideChoice()
        let core = Core {
            try open(
                Opening(
                    folder: folders.journal.path, noBackupFolder: folders.marker.path, language: language,
                    offsetMinutes: offsetMinutes(), beside: beside.now))
        }
        let station = StationAddress(kept: kept)
        self.core = core
        self.station = station
        self.language = language
        self.device = device
        self.vault = vault
        self.beside = beside
        exports = folders.exports
        let wire = Wire(
            folder: folders.journal, station: { station.text }, token: { vault.token() }, cleartext: cleartext, trust: Trust(core: core))
        run = SendRun(core: core, wire: wire)
    }

    /// A fixed word of the core.
    public func word(_ id: String) -> String { words[id] ?? id }

    /// At the start, and again when the phone was unlocked for the first time.
    public func begin() {
        let own = language
        let offset = offsetMinutes()
        ask({ core in
            try core.setOffset(minutes: offset)
            let settings = try core.settings()
            if settings.languages.first(where: \.chosen)?.name.isEmpty != false { _ = try core.setLanguage(tag: own) }
            return Begun(
                words: try core.words(), settings: try core.settings(), join: try core.joinScreen(), said: try core.opened().said)
        }) { desk, begun in
            desk.words = begun.words
            desk.settings.record = begun.settings
            desk.own.join = begun.join
            desk.drawAgain()
            begun.said.forEach { desk.say($0) }
            desk.arrived()
        }
    }

    private struct Begun: Sendable {
        let words: [String: String]
        let settings: SettingsScreen
        let join: JoinScreen
        let said: [String]
    }

    /// Drawings have words in them: they are asked for again.
    func drawAgain() {
        drawings = [:]
        asked = []
    }

    /// What screens showed is gone from the journal.
    func forgetScreens() {
        (start, counting, review, sending, keyStart, key, keyChanged) = (nil, nil, nil, nil, nil, nil, nil)
        sites = nil
        own = Own()
    }

    /// Asks the core; a refusal is shown and felt, never swallowed.
    func ask<Value: Sendable>(
        _ work: @escaping @Sendable (Leafturn) throws -> Value, then: @escaping @MainActor (Desk, Value) -> Void
    ) {
        core.call(work) { [weak self] outcome in
            guard let self else { return }
            switch outcome {
            case .done(let value): then(self, value)
            case .failed(let failure): refused(failure)
            }
        }
    }

    /// Asks for the record of where the person is. Where it cannot be had the screen says why, and offers to ask again.
    func askHere<Value: Sendable>(
        _ work: @escaping @Sendable (Leafturn) throws -> Value, then: @escaping @MainActor (Desk, Value) -> Void
    ) {
        core.call(work) { [weak self] outcome in
            guard let self else { return }
            switch outcome {
            case .done(let value):
                if stuck != nil, stuck == notice?.text { notice = nil }
                stuck = nil
                then(self, value)
            case .failed(let failure):
                stuck = failure.words
                refused(failure)
            }
        }
    }

    /// Shows the record of where the person is.
    public func arrived() {
        stuck = nil
        switch path.last {
        case nil: askHere({ try $0.sites() }) { $0.sites = $1 }
        case .start(let site):
            askHere({ (try $0.start(site: site), try $0.effort(site: site)) }) { desk, shown in
                desk.sheets.effort = shown.1
                desk.offered(shown.0)
            }
        case .counting, .undecided, .states, .hosts, .more: askHere({ try $0.counting() }) { $0.counting = $1 }
        case .keyStart: askHere({ try $0.keyStart() }) { $0.offered($1) }
        case .key: askHere({ try $0.key() }) { $0.asked($1) }
        case .measure: openMeasure()
        case .practice: openPractice()
        case .details(let check): openDetails(check)
        case .weather: openWeather()
        case .visit: openVisit()
        case .notes: openNotes()
        case .outside(let site): openOutside(site)
        case .advice: openAdvice()
        case .matching: openMatching()
        case .review: openReview()
        case .sending: askHere({ try $0.sending() }) { $0.sending = $1 }
        case .addSite:
            ask({ try $0.precisions() }) { desk, precisions in
                desk.own.precisions = precisions
                desk.describe(nil)
                if desk.own.draft.precision == nil { desk.own.draft.precision = precisions.first(where: \.chosen)?.precision }
            }
        case .site(let site): ask({ try $0.site(site: site) }) { $0.offered($1) }
        case .season(let site): ask({ try $0.season(site: site) }) { $0.offered($1, of: site) }
        case .join: ask({ try $0.joinScreen() }) { $0.own.join = $1 }
        case .settings: ask({ try $0.settings() }) { $0.settings.record = $1 }
        case .cautions: ask({ try $0.cautions() }) { $0.own.cautions = $1 }
        case .mine:
            own.deleting = false
            ask({ try $0.myData() }) { $0.own.mine = $1 }
        case .licences: ask({ try $0.licences() }) { $0.own.licences = $1 }
        }
    }

    public func go(_ place: Place) { path.append(place) }

    public func goHome() { path = [] }

    public func type(_ text: String, into field: Field) { typed[field] = text }

    public func say(_ text: String) { notice = Notice(text: text, offersBeside: false) }

    /// A tap on what is said: it goes, and does what it offers.
    public func takeNotice() {
        guard let notice else { return }
        self.notice = nil
        if notice.offersBeside {
            beside.now = .newer
            begin()
        }
    }

    /// The drawing for a tile, asked for once.
    public func drawing(_ name: String) -> Drawing? {
        drawings[name]
    }

    /// Asks for the drawings that a screen needs.
    public func draw(_ names: [String]) {
        for name in names where !name.isEmpty && asked.insert(name).inserted {
            ask({ try $0.drawing(name: name, width: 160, height: 96) }) { $0.drawings[name] = $1 }
        }
    }

    private func refused(_ failure: Failure) {
        device.haptics.feel(.refused)
        var offersBeside = false
        if case .OpenBeside = failure, beside.now == .own { offersBeside = true }
        notice = Notice(text: failure.words, offersBeside: offersBeside)
        device.speaker.say(failure.words)
        if case .StartedAgain = failure { arrived() }
    }
}

/// Where the core keeps its files.
public struct Folders: Sendable {
    /// The journal, of which no backup takes a copy.
    public let journal: URL
    /// Outside the journal: what tells a restored phone from the one that was backed up.
    public let marker: URL
    /// Files made to be handed over.
    public let exports: URL

    public init(journal: URL, marker: URL, exports: URL) {
        (self.journal, self.marker, self.exports) = (journal, marker, exports)
    }
}

/// Which journal is opened: read on the core's queue, and changed before it opens again.
final class BesideChoice: @unchecked Sendable {
    private let lock = NSLock()
    private var choice = Beside.own
    var now: Beside {
        get { lock.withLock { choice } }
        set { lock.withLock { choice = newValue } }
    }
}
