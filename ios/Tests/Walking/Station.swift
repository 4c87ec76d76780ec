import Foundation

/// A real station: the `leafturn` program as a process of its own, on a free port of this machine.
public final class Station {
    public let address: String
    private let folder: URL
    private let program: URL
    private let process: Process

    public init(folder: URL) throws {
        guard let path = ProcessInfo.processInfo.environment["LEAFTURN_STATION"], !path.isEmpty else {
            throw Unexpected("LEAFTURN_STATION names no station")
        }
        self.folder = folder
        program = URL(fileURLWithPath: path)
        try FileManager.default.createDirectory(at: folder, withIntermediateDirectories: true)
        process = Process()
        process.executableURL = program
        process.arguments = ["serve", "--json", "--listen", "127.0.0.1:0", "--data", folder.path]
        let said = Pipe()
        process.standardOutput = said
        process.standardError = FileHandle.nullDevice
        try process.run()
        let line = Lines(said.fileHandleForReading).next() ?? ""
        guard let about = try? Self.json(line), let address = about["listening"] as? String else {
            throw Unexpected("the station said: \(line)")
        }
        self.address = address
    }

    deinit { process.terminate() }

    /// A code for one phone that may read this site.
    public func invite(_ site: String) throws -> String {
        let made = try run(["invite", "--json", "--name=Invented phone", "--site=\(site)"])
        guard let code = made["code"] as? String else { throw Unexpected("no code in \(made)") }
        return code
    }

    public func check() throws -> [String: Any] { try run(["check", "--json"]) }

    /// What the station says of all sites.
    public func report() throws -> [String: Any] { try run(["report", "--all", "--json"]) }

    /// A certificate as a station makes one for itself, in DER.
    public static func certificate(in folder: URL) throws -> Data {
        let make = Process()
        make.executableURL = URL(fileURLWithPath: ProcessInfo.processInfo.environment["LEAFTURN_STATION"] ?? "")
        make.arguments = ["certificate", "make", "--name", "192.0.2.7", "--data", folder.path]
        make.standardOutput = FileHandle.nullDevice
        try make.run()
        make.waitUntilExit()
        let text = try String(contentsOf: folder.appendingPathComponent("tls/station.pem"), encoding: .utf8)
        let lines = text.components(separatedBy: "\n")
        let inside = lines.drop { $0 != "-----BEGIN CERTIFICATE-----" }.dropFirst().prefix { !$0.hasPrefix("-----END") }
        guard let der = Data(base64Encoded: inside.joined()), !der.isEmpty else { throw Unexpected("no certificate in \(folder.path)") }
        return der
    }

    private func run(_ arguments: [String]) throws -> [String: Any] {
        let run = Process()
        run.executableURL = program
        run.arguments = arguments + ["--data", folder.path]
        let said = Pipe()
        run.standardOutput = said
        run.standardError = FileHandle.standardError
        try run.run()
        let text = String(decoding: said.fileHandleForReading.readDataToEndOfFile(), as: UTF8.self)
        run.waitUntilExit()
        guard run.terminationStatus == 0 else { throw Unexpected("\(arguments) ended with \(run.terminationStatus): \(text)") }
        return try Self.json(text)
    }

    private static func json(_ text: String) throws -> [String: Any] {
        guard let value = try JSONSerialization.jsonObject(with: Data(text.utf8)) as? [String: Any] else {
            throw Unexpected("not an object: \(text)")
        }
        return value
    }
}

/// Lines of a pipe, as they come.
public final class Lines {
    private let handle: FileHandle
    private var rest = Data()

    public init(_ handle: FileHandle) { self.handle = handle }

    /// The next line; nil at the end.
    public func next() -> String? {
        while true {
            if let end = rest.firstIndex(of: 0x0A) {
                let line = String(decoding: rest[rest.startIndex..<end], as: UTF8.self)
                rest = Data(rest[rest.index(after: end)...])
                return line
            }
            let more = handle.availableData
            if more.isEmpty { return nil }
            rest.append(more)
        }
    }
}
