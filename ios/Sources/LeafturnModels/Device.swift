import Foundation
import LeafturnCore

/// What only the system can do, each behind a protocol as narrow as its use; tests have doubles of them.
@MainActor public struct Device {
    public let haptics: any Feeling
    public let speaker: any Speaking
    public let whereabouts: any Whereabouts
    public let sharing: any Sharing
    public let camera: any Camera
    public let network: any NetworkCost
    public let leftovers: any Leftovers
    public let sounds: any Sounding
    public let scanner: any Scanning
    public let files: any Choosing

    public init(
        haptics: any Feeling, speaker: any Speaking, whereabouts: any Whereabouts, sharing: any Sharing, camera: any Camera,
        network: any NetworkCost, leftovers: any Leftovers, sounds: any Sounding, scanner: any Scanning, files: any Choosing
    ) {
        self.haptics = haptics
        self.speaker = speaker
        self.whereabouts = whereabouts
        self.sharing = sharing
        self.camera = camera
        self.network = network
        self.leftovers = leftovers
        self.sounds = sounds
        self.scanner = scanner
        self.files = files
    }
}

/// What the hand feels. Three that cannot be mistaken.
public enum Feel: CaseIterable, Sendable { case counted, takenBack, refused }

@MainActor public protocol Feeling { func feel(_ feel: Feel) }

/// Speaks to those who use a screen reader; of a burst only the last.
@MainActor public protocol Speaking {
    func say(_ text: String)
    /// To everyone, whether a screen reader is on or not.
    func sayAloud(_ text: String)
}

/// What the ear hears of an act, where that is set.
@MainActor public protocol Sounding { func sound(_ feel: Feel) }

/// The text of an invitation, read by the camera; nil where nothing was read.
@MainActor public protocol Scanning { func scan() async -> String? }

/// What is in a file that the person chooses; nil where none was chosen.
@MainActor public protocol Choosing { func choose() async -> Data? }

/// Where the phone is: degrees, and the radius in metres that holds it with 68 %.
public struct DeviceFix: Sendable, Equatable {
    public let latitude: Double, longitude: Double, accuracy: Double
    public init(latitude: Double, longitude: Double, accuracy: Double) {
        (self.latitude, self.longitude, self.accuracy) = (latitude, longitude, accuracy)
    }
}

/// One fix, asked for by a press; nil where the system or the person says no.
@MainActor public protocol Whereabouts { func ask() async -> DeviceFix? }

/// The system's sheet for handing a file over.
@MainActor public protocol Sharing { func share(_ file: URL) }

/// A photo as JPEG, upright, at most 2,560 pixels a side; nil where none was taken.
@MainActor public protocol Camera { func take() async -> Data? }

/// Whether the network costs by volume.
@MainActor public protocol NetworkCost { var metered: Bool { get } }

/// Hands a request with a file for a body to transfers that outlive the process; false where it has to go in the foreground.
@MainActor public protocol Leftovers { func handOver(_ request: HttpRequest, to station: String, token: String?) -> Bool }

/// Keeps the token that this phone shows to its station.
public protocol Vault: Sendable {
    func token() -> String?
    func keep(token: String?)
}

/// Keeps small settings by name.
public protocol Keeping: Sendable {
    func text(_ name: String) -> String?
    func keep(_ text: String, as name: String)
}
