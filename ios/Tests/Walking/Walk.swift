import Foundation
import LeafturnCore
import LeafturnModels
import LeafturnViews
import SwiftUI

/// What a test came upon and did not expect.
public struct Unexpected: Error, CustomStringConvertible {
    public let description: String
    public init(_ description: String) { self.description = description }
}

/// A person with one thumb, over the real views and the real core: touches what is on the screen, and counts the touches.
@MainActor public final class Walk {
    public let desk: Desk
    public let doubles = Doubles()
    public let folder: URL
    public var values = EnvironmentValues()
    /// Touches so far.
    public private(set) var taps = 0
    /// The system's time of the next touch; it never stands for the time of day.
    private var time = Date(timeIntervalSinceReferenceDate: 0)
    private let root: (@MainActor (Desk) -> AnyTree)?

    /// A tree made by a view of the test's own.
    public typealias AnyTree = @MainActor (EnvironmentValues) -> Node

    /// `gate` is passed before the journal is opened, and may say that it cannot be had.
    public init(folder: URL, root: (@MainActor (Desk) -> AnyTree)? = nil, gate: (@Sendable () throws -> Void)? = nil) {
        self.folder = folder
        self.root = root
        let kept = FileKeeping(folder: folder.appendingPathComponent("kept"))
        desk = Desk(
            folders: Folders(
                journal: folder.appendingPathComponent("journal"), marker: folder.appendingPathComponent("marker"),
                exports: folder),
            kept: kept, vault: kept, device: doubles.device, language: "en", cleartext: .loopback,
            open: { opening in
                try gate?()
                return try Leafturn.open(opening: opening)
            })
    }

    public func begin() async throws {
        desk.begin()
        try await settle()
    }

    /// Lets the core finish what it was asked, what came of it be shown, and what that asks for in turn.
    public func settle() async throws {
        repeat {
            while desk.core.waiting > 0 { _ = await desk.core.ask { _ in } }
            await Task.yield()
            // What appears may ask for drawings.
            appear()
        } while desk.core.waiting > 0
    }

    /// Waits for something that goes on beside the core; the deadline only ends a test that would never end.
    public func until(_ what: String, _ holds: () -> Bool) async throws {
        for _ in 0..<6_000 {
            if holds() { return }
            try await Task.sleep(nanoseconds: 10_000_000)
            try await settle()
        }
        throw Unexpected("never: \(what)\n\(outline())")
    }

    // MARK: What is there

    public func tree() -> Node {
        root.map { $0(desk)(values) } ?? Node.tree(of: RootView(desk: desk), in: values)
    }

    public func laid() -> Laid { Layout.lay(tree(), in: values.screen) }

    public func elements() -> [Element] { Element.all(of: laid()) }

    public func maybe(_ tag: String) -> Element? { elements().first { $0.identifier == tag } }

    public func find(_ tag: String) throws -> Element {
        guard let found = maybe(tag) else { throw Unexpected("no \(tag) here:\n\(outline())") }
        return found
    }

    public func tagged(_ start: String) -> [Element] { elements().filter { $0.identifier.hasPrefix(start) } }

    /// What the screen says, line by line.
    public func outline() -> String {
        let tree = laid()
        return Element.all(of: tree).map { element in
            element.value.isEmpty ? element.label : "\(element.label): \(element.value)"
        }.joined(separator: "\n")
    }

    public func says(_ text: String) -> Bool { outline().contains(text) }

    // MARK: What is done

    /// A touch of a target that can be seen, is not covered, and is enabled.
    public func tap(_ tag: String) async throws {
        let target = try find(tag)
        guard target.enabled else { throw Unexpected("\(tag) is not enabled") }
        guard target.scrolls || CGRect(origin: .zero, size: values.screen).contains(target.frame) else {
            throw Unexpected("\(tag) lies outside the screen: \(target.frame)")
        }
        taps += 1
        try await touch(target)
    }

    /// Touches without a look at whether a person could.
    public func touch(_ target: Element, for held: TimeInterval = 0.06, then pause: TimeInterval = 0.14) async throws {
        if let drag = target.drag {
            drag.changed?(.touch(at: time))
            time += held
            drag.ended?(.touch(at: time))
            time += pause
        } else {
            target.activate?()
        }
        try await settle()
    }

    public func type(_ tag: String, _ text: String) throws {
        guard let edit = try find(tag).edit else { throw Unexpected("\(tag) takes no text") }
        edit.change(text)
    }

    /// The app is gone from memory; its journal is let go.
    public func leave() async throws {
        try await settle()
        await desk.core.close()
    }

    private func appear() { tree().all.flatMap(\.appear).forEach { $0() } }
}
