import Foundation
import LeafturnCore

/// Which hand holds the phone: what is used most lies under its thumb.
public enum Hand: String, CaseIterable, Sendable { case right, left }

public enum Theme: String, CaseIterable, Sendable { case light, dark }

/// What a person set, as the core keeps it: everything is read from its record, and nothing is kept beside it.
public struct Settings: Equatable, Sendable {
    /// Which of the groups a choice belongs to.
    public enum Group: Sendable { case language, hand, theme, units }

    /// Nil until the core has answered.
    public internal(set) var record: SettingsScreen?

    public var hand: Hand { one(\.hands).flatMap(Hand.init) ?? .right }
    public var theme: Theme { one(\.themes).flatMap(Theme.init) ?? .light }
    public var buzz: Bool { on("buzz") }
    public var sound: Bool { on("sound") }
    /// Each count is spoken, for a phone on a strap while a lens is held to the eye.
    public var spoken: Bool { on("lens-mode") }

    /// What can be on or off here. An app for the iPhone may not use the keys for the volume (Apple, "App Review
    /// Guidelines", 2.5.9), so that switch is left as it is and not shown.
    public var switches: [Choice] { (record?.switches ?? []).filter { $0.name != "volume-keys" } }

    /// What is sent to the core when one of a group is chosen.
    func choosing(_ name: String, _ group: Group) -> SettingsChosen? {
        record.map { record in
            func now(_ own: Group, _ choices: [Choice]) -> String {
                own == group ? name : choices.first(where: \.chosen)?.name ?? ""
            }
            return SettingsChosen(
                language: now(.language, record.languages), hand: now(.hand, record.hands), theme: now(.theme, record.themes),
                units: now(.units, record.units), on: record.switches.filter(\.chosen).map(\.name))
        }
    }

    /// What is sent to the core when one is put on or off.
    func toggling(_ name: String) -> SettingsChosen? {
        record.map { record in
            func now(_ choices: [Choice]) -> String { choices.first(where: \.chosen)?.name ?? "" }
            return SettingsChosen(
                language: now(record.languages), hand: now(record.hands), theme: now(record.themes), units: now(record.units),
                on: record.switches.filter { $0.chosen != ($0.name == name) }.map(\.name))
        }
    }

    private func one(_ group: KeyPath<SettingsScreen, [Choice]>) -> String? { record?[keyPath: group].first(where: \.chosen)?.name }

    private func on(_ name: String) -> Bool { record?.switches.first { $0.name == name }?.chosen ?? false }
}

/// The address of the station, such as `https://station.example`: the shell's own, as its token is.
public struct StationAddress: Sendable {
    private let kept: any Keeping

    public init(kept: any Keeping) {
        self.kept = kept
    }

    public var text: String {
        get { kept.text("station") ?? "" }
        nonmutating set {
            let typed = newValue.trimmingCharacters(in: .whitespacesAndNewlines)
            kept.keep(typed.hasSuffix("/") ? String(typed.dropLast()) : typed, as: "station")
        }
    }
}

/// The system's store of small things.
public final class SystemKeeping: Keeping, @unchecked Sendable {
    // It is documented as safe for use on several threads.
    private let store: UserDefaults

    public init(store: UserDefaults = .standard) {
        self.store = store
    }

    public func text(_ name: String) -> String? { store.string(forKey: name) }

    public func keep(_ text: String, as name: String) { store.set(text, forKey: name) }
}

/// Minutes that local time is ahead of UTC at this moment.
public func offsetMinutes() -> Int16 { Int16(TimeZone.current.secondsFromGMT() / 60) }

/// The tag of the phone's own language.
public func phoneLanguage() -> String { Locale.preferredLanguages.first ?? "en" }
