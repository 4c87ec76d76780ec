import Foundation
import LeafturnCore
import LeafturnModels
import Walking
import XCTest

/// A folder of its own for a test.
func scratch(_ name: String) throws -> URL {
    let root =
        ProcessInfo.processInfo.environment["LEAFTURN_SCRATCH"].flatMap { $0.isEmpty ? nil : URL(fileURLWithPath: $0) }
        ?? FileManager.default.temporaryDirectory
    let folder = root.appendingPathComponent("\(name)-\(UUID().uuidString)")
    try FileManager.default.createDirectory(at: folder, withIntermediateDirectories: true)
    return folder
}

/// The folder of the package.
let package = URL(fileURLWithPath: #filePath).deletingLastPathComponent().deletingLastPathComponent().deletingLastPathComponent()

extension Outcome {
    /// What came of it; a failure fails the test with its words.
    func value() throws -> Value {
        switch self {
        case .done(let value): return value
        case .failed(let failure): throw Unexpected(failure.words)
        }
    }
}

extension Walk {
    /// Puts something into the core, and shows the screen of a place.
    @MainActor func put<Value: Sendable>(_ work: @escaping @Sendable (Leafturn) throws -> Value) async throws -> Value {
        try await desk.core.ask(work).value()
    }

    @MainActor func show(_ path: [Place]) async throws {
        desk.path = path
        desk.arrived()
        try await settle()
    }

    /// Sets what is named, as the settings' screen would.
    @MainActor func set(_ theme: Theme?, _ hand: Hand?, _ language: String?) async throws {
        try await settle()
        if let theme { desk.choose(theme.rawValue, .theme) }
        try await settle()
        if let hand { desk.choose(hand.rawValue, .hand) }
        try await settle()
        if let language { desk.choose(language, .language) }
        try await settle()
    }

    /// A visit with an open plant.
    @MainActor static func counting(_ name: String) async throws -> Walk { try await counting(in: try scratch(name)) }

    /// A visit with an open plant, its journal in this folder.
    @MainActor static func counting(in folder: URL) async throws -> Walk {
        let walk = Walk(folder: folder)
        try await walk.begin()
        _ = try await walk.put { core in
            try Scene.visit(core, try Scene.site(core))
            return try core.openPlant(host: Scene.host)
        }
        try await walk.show([.counting])
        return walk
    }

    @MainActor func number(_ what: String) -> Int { desk.counting?.tiles.first { $0.what == what }.map { Int($0.number) } ?? -1 }
}

/// A small disk of its own in memory. Where this machine lets nobody mount one, the test is passed over, and says so.
final class Disk {
    let folder: URL
    init(at folder: URL) throws {
        self.folder = folder
        guard Self.run("/bin/mount", "-t", "tmpfs", "-o", "size=2m", "invented", folder.path) else {
            throw XCTSkip("this machine lets nobody mount a disk for himself")
        }
    }
    deinit { _ = Self.run("/bin/umount", "-l", folder.path) }
    func fill() throws {
        let ballast = folder.appendingPathComponent("ballast").path
        _ = FileManager.default.createFile(atPath: ballast, contents: nil)
        guard let file = FileHandle(forWritingAtPath: ballast) else { throw Unexpected("no ballast") }
        while (try? file.write(contentsOf: Data(count: 4096))) != nil {}
        try? file.close()
    }
    func free() throws { try FileManager.default.removeItem(at: folder.appendingPathComponent("ballast")) }
    func lock() throws {
        guard Self.run("/bin/mount", "-o", "remount,ro", folder.path) else { throw Unexpected("it cannot be locked") }
    }
    private static func run(_ program: String, _ arguments: String...) -> Bool {
        let process = Process()
        process.executableURL = URL(fileURLWithPath: program)
        process.arguments = arguments
        process.standardError = FileHandle.nullDevice
        guard (try? process.run()) != nil else { return false }
        process.waitUntilExit()
        return process.terminationStatus == 0
    }
}
