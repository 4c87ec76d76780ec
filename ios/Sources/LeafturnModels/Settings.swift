import Foundation

/// Which hand holds the phone: what is used most lies under its thumb.
public enum Hand: String, CaseIterable, Sendable { case right, left }

public enum Theme: String, CaseIterable, Sendable { case light, dark }

/// What a person set. Kept on this phone alone.
public struct Settings: Sendable {
    private let kept: any Keeping

    public init(kept: any Keeping) {
        self.kept = kept
    }

    public var hand: Hand {
        get { kept.text("hand").flatMap(Hand.init) ?? .right }
        nonmutating set { kept.keep(newValue.rawValue, as: "hand") }
    }

    public var theme: Theme {
        get { kept.text("theme").flatMap(Theme.init) ?? .light }
        nonmutating set { kept.keep(newValue.rawValue, as: "theme") }
    }

    /// The tag of the language: the phone's, until another one is chosen.
    public var language: String {
        get { kept.text("language") ?? Locale.preferredLanguages.first ?? "en" }
        nonmutating set { kept.keep(newValue, as: "language") }
    }

    public var buzz: Bool {
        get { kept.text("buzz") != "no" }
        nonmutating set { kept.keep(newValue ? "yes" : "no", as: "buzz") }
    }

    /// The address of the station, such as `https://station.example`.
    public var station: String {
        get { kept.text("station") ?? "" }
        nonmutating set {
            let typed = newValue.trimmingCharacters(in: .whitespacesAndNewlines)
            kept.keep(typed.hasSuffix("/") ? String(typed.dropLast()) : typed, as: "station")
        }
    }
}

/// The system's store of settings.
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
