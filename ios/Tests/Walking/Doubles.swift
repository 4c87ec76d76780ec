import Foundation
import LeafturnCore
import LeafturnModels

/// Doubles of what only the system can do: they remember what they were asked.
@MainActor public final class Doubles {
    public final class Haptics: Feeling {
        public private(set) var felt: [Feel] = []
        public func feel(_ feel: Feel) { felt.append(feel) }
    }
    public final class Speaker: Speaking {
        public private(set) var said: [String] = []
        public private(set) var aloud: [String] = []
        public func say(_ text: String) { said.append(text) }
        public func sayAloud(_ text: String) { aloud.append(text) }
    }
    public final class Loudspeaker: Sounding {
        public private(set) var heard: [Feel] = []
        public func sound(_ feel: Feel) { heard.append(feel) }
    }
    public final class Scanner: Scanning {
        public var text: String?
        public private(set) var asked = 0
        public func scan() async -> String? {
            asked += 1
            return text
        }
    }
    public final class Files: Choosing {
        public var content: Data?
        public private(set) var asked = 0
        public func choose() async -> Data? {
            asked += 1
            return content
        }
    }
    public final class Place: Whereabouts {
        public var fix: DeviceFix?
        public private(set) var asked = 0
        public func ask() async -> DeviceFix? {
            asked += 1
            return fix
        }
    }
    public final class Sheet: Sharing {
        public private(set) var shared: [URL] = []
        public func share(_ file: URL) { shared.append(file) }
    }
    public final class Lens: Camera {
        public var jpeg: Data?
        public private(set) var asked = 0
        public func take() async -> Data? {
            asked += 1
            return jpeg
        }
    }
    public final class Network: NetworkCost {
        public var metered = false
    }
    public final class Transfers: Leftovers {
        public var takes = false
        public private(set) var taken: [HttpRequest] = []
        public func handOver(_ request: HttpRequest, to station: String, token: String?) -> Bool {
            if takes { taken.append(request) }
            return takes
        }
    }

    public let haptics = Haptics()
    public let speaker = Speaker()
    public let place = Place()
    public let sheet = Sheet()
    public let lens = Lens()
    public let network = Network()
    public let transfers = Transfers()
    public let loudspeaker = Loudspeaker()
    public let scanner = Scanner()
    public let files = Files()

    public init() {}

    public var device: Device {
        Device(
            haptics: haptics, speaker: speaker, whereabouts: place, sharing: sheet, camera: lens, network: network,
            leftovers: transfers, sounds: loudspeaker, scanner: scanner, files: files)
    }
}

/// Settings and token in files of a folder, so that another process finds them.
public final class FileKeeping: Keeping, Vault, @unchecked Sendable {
    private let folder: URL

    public init(folder: URL) {
        self.folder = folder
        try? FileManager.default.createDirectory(at: folder, withIntermediateDirectories: true)
    }

    public func text(_ name: String) -> String? { try? String(contentsOf: folder.appendingPathComponent(name), encoding: .utf8) }

    public func keep(_ text: String, as name: String) {
        try? text.write(to: folder.appendingPathComponent(name), atomically: true, encoding: .utf8)
    }

    public func token() -> String? { text("token") }

    public func keep(token: String?) { keep(token ?? "", as: "token") }
}
