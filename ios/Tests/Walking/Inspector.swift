import Foundation
import LeafturnCore
import LeafturnModels
import LeafturnViews
import SwiftUI

/// Walks over a screen and finds what would make it hard to use.
@MainActor public struct Inspector {
    private let walk: Walk
    private let laid: Laid
    private let elements: [Element]
    private var controls: [Element] { elements.filter { $0.isControl && $0.identifier != "system-back" && $0.identifier != "notice" } }
    private var pad: Bool { elements.contains { $0.identifier.hasPrefix("tile-") } }

    public init(_ walk: Walk) {
        self.walk = walk
        laid = walk.laid()
        elements = Element.all(of: laid)
    }

    public func faults() -> [String] {
        var found = controls.flatMap { ofControl($0) }
        found += pairs().flatMap { ofPair($0.0, $0.1) }
        found += laid.all.flatMap { ofText($0) }
        found += placement()
        found += undo()
        found += covered()
        found += elements.flatMap { saying($0) }
        found += contrast(laid.node, Look.of(walk.desk.settings.theme).paper, enabled: true)
        found += twice()
        return found
    }

    private func ofControl(_ element: Element) -> [String] {
        let frame = element.frame
        let least = (element.isGrip ? Look.grip : Look.target) - 0.5
        let counter = element.identifier.hasPrefix("tile-")
        let inside = frame.minX >= -0.5 && frame.maxX <= walk.values.screen.width + 0.5
        let seen = element.scrolls || (frame.minY >= -0.5 && frame.maxY <= walk.values.screen.height + 0.5)
        let faults: [String?] = [
            frame.width < least || frame.height < least
                ? "\(element.name) is \(Int(frame.width)) x \(Int(frame.height)), at least \(Int(least + 0.5)) is wanted" : nil,
            element.label.isEmpty ? "\(element.name) says nothing to a screen reader" : nil,
            (counter || element.adjust != nil) && element.value.isEmpty ? "\(element.name) has no value" : nil,
            counter && element.adjust == nil ? "\(element.name) cannot be adjusted" : nil,
            counter && element.named.count < 2 ? "\(element.name) lacks an action by name" : nil,
            element.identifier.isEmpty ? "\(element.label) has no name for tests" : nil,
            inside && seen ? nil : "\(element.name) lies outside the screen",
        ]
        return faults.compactMap { $0 }
    }

    private func pairs() -> [(Element, Element)] {
        controls.enumerated().flatMap { at, one in controls.dropFirst(at + 1).map { (one, $0) } }
    }

    private func ofPair(_ one: Element, _ other: Element) -> [String] {
        let half = -Look.gap / 2 + 0.5
        let close = one.frame.insetBy(dx: half, dy: half).intersects(other.frame.insetBy(dx: half, dy: half))
        // The grips of two points lie as close as the points do.
        return one.scrolls == other.scrolls && close && !(one.isGrip && other.isGrip) ? ["\(one.name) and \(other.name) are too close"] : []
    }

    private func ofText(_ laid: Laid) -> [String] {
        guard let words = laid.node.words else { return [] }
        // With the three largest sizes a long word on the narrowest screen breaks as everywhere on that phone.
        let torn = laid.torn && laid.node.values.dynamicTypeSize < .accessibility3
        return laid.cut || torn ? ["\"\(words)\" is cut"] : []
    }

    /// All of counting lies in the lower two thirds, or beside the head where the phone lies on its side.
    private func placement() -> [String] {
        let screen = walk.values.screen
        guard pad else { return [] }
        let upright = screen.height >= screen.width
        return controls.filter { upright ? $0.frame.minY < screen.height / 3 - 1 : $0.frame.minX < screen.width / 3 - 1 }
            .map { "\($0.name) lies where the thumb does not reach" }
    }

    /// What is said beside the pad covers nothing that is tapped.
    private func covered() -> [String] {
        guard pad, let notice = elements.first(where: { $0.identifier == "notice" }) else { return [] }
        return controls.filter { $0.frame.intersects(notice.frame) }.map { "the notice covers \($0.name)" }
    }

    private func undo() -> [String] {
        // The review ends the counting, and has an undo of its own.
        guard pad || (walk.desk.path.contains(.counting) && !walk.desk.path.contains(.review)) else { return [] }
        guard walk.desk.counting != nil else { return [] }
        guard let back = elements.first(where: { $0.identifier == "take-back" }) else { return ["there is no undo"] }
        let label = walk.desk.counting?.takeBack?.spoken
        return back.enabled == (label != nil) && (label == nil || back.label == label)
            ? [] : ["undo does not say what it takes back: \(back.label)"]
    }

    private func twice() -> [String] {
        let names = controls.map(\.identifier).filter { !$0.isEmpty }
        return Set(names.filter { name in names.filter { $0 == name }.count > 1 }).sorted().map { "\($0) is there twice" }
    }

    // MARK: Words

    /// Nothing is said that the core did not say, or the person typed.
    private func saying(_ element: Element) -> [String] {
        let known = Self.known(walk.desk)
        return [element.label, element.value, element.hint].filter { text in
            var rest = text.replacingOccurrences(of: "\u{200B}", with: "")
            for phrase in known where !rest.isEmpty { rest = rest.replacingOccurrences(of: phrase, with: "") }
            return rest.contains { $0.isLetter || $0.isNumber }
        }.filter { _ in element.identifier != "system-back" }.map { "\"\($0)\" is not the core's" }
    }

    /// All texts of the records at hand, the longest first.
    static func known(_ desk: Desk) -> [String] {
        var found: Set<String> = ["English", "Español", "Français"]
        func gather(_ value: Any) {
            if let text = value as? String { found.insert(text) }
            for child in Mirror(reflecting: value).children { gather(child.value) }
        }
        [desk.sites, desk.start, desk.counting, desk.review, desk.sending, desk.keyStart, desk.key, desk.keyChanged].forEach {
            (record: Any?) in record.map(gather)
        }
        gather(desk.own)
        gather(desk.settings)
        gather(desk.sheets)
        desk.stuck.map { _ = found.insert($0) }
        desk.words.values.forEach { found.insert($0) }
        desk.typed.values.forEach { found.insert($0) }
        desk.notice.map { _ = found.insert($0.text) }
        return found.filter { !$0.isEmpty }.sorted { ($0.count, $0) > ($1.count, $1) }
    }

    // MARK: Contrast

    /// Every text against what lies behind it.
    private func contrast(_ node: Node, _ ground: Color, enabled: Bool) -> [String] {
        let enabled = enabled && node.enabled
        if let words = node.words, !words.isEmpty {
            let ratio = Self.contrast(node.ink ?? .black, ground)
            return ratio < 7 ? ["\"\(words)\" has a contrast of \(String(format: "%.1f", ratio))"] : []
        }
        if case .background = node.kind {
            let behind = node.children[1].all.compactMap { node -> Color? in
                if case .shape(_, let fill?, _, _) = node.kind { fill } else { nil }
            }.first
            return contrast(node.children[0], behind ?? ground, enabled: enabled)
        }
        return node.children.flatMap { contrast($0, ground, enabled: enabled) }
    }

    /// Contrast by the definition of W3C, Web Content Accessibility Guidelines 2.2.
    public nonisolated static func contrast(_ one: Color, _ other: Color) -> Double {
        func linear(_ share: Double) -> Double { share <= 0.04045 ? share / 12.92 : pow((share + 0.055) / 1.055, 2.4) }
        func luminance(_ own: Color) -> Double {
            let (red, green, blue) = (linear(own.red), linear(own.green), linear(own.blue))
            return 0.2126 * red + 0.7152 * green + 0.0722 * blue
        }
        let both = [luminance(one), luminance(other)].sorted()
        return (both[1] + 0.05) / (both[0] + 0.05)
    }

    // MARK: Doing

    /// Presses everything that can be pressed: each must ask the core, lead elsewhere, or change what is shown.
    public func dead() async throws -> [String] {
        var found: [String] = []
        let here = walk.desk.path
        // What is chosen already stays so: pressing it again may do nothing.
        for name in controls.filter({ $0.enabled && $0.edit == nil && !$0.traits.contains(.isSelected) }).map(\.identifier) {
            guard let element = walk.maybe(name), element.enabled else { continue }
            let before = state()
            try await walk.touch(element)
            if state() == before { found.append("\(name) does nothing") }
            if walk.desk.path != here {
                walk.desk.path = here
                try await walk.settle()
            }
        }
        return found
    }

    private func state() -> String {
        let desk = walk.desk
        return
            "\(desk.core.calls) \(desk.path) \(desk.chosen) \(desk.sheets.forms) \(desk.sheets.both) \(desk.sheets.measuring) \(desk.own.draft) \(desk.own.deleting) \(String(describing: desk.notice)) \(walk.doubles.lens.asked) \(walk.doubles.files.asked) \(walk.doubles.place.asked) \(walk.doubles.scanner.asked)"
    }

    /// What each tile counts, and each direction: its own number and no other.
    public func wiring(_ stages: [String]? = nil) async throws -> [String] {
        var found: [String] = []
        func numbers() -> [String: UInt64] {
            Dictionary(uniqueKeysWithValues: (walk.desk.counting?.tiles ?? []).map { ($0.what, $0.number) })
        }
        func expect(_ what: String, _ by: Int, _ how: String, _ act: (Element) async throws -> Void) async throws {
            guard let element = walk.maybe("tile-\(what)") else { return found.append("no tile for \(what)") }
            var wanted = numbers()
            wanted[what] = UInt64(Int(wanted[what] ?? 0) + by)
            try await act(element)
            if numbers() != wanted { found.append("tile-\(what) miscounts \(how)") }
            let shown = walk.maybe("tile-\(what)")?.value.prefix { $0.isNumber } ?? ""
            if String(shown) != String(wanted[what] ?? 0) { found.append("tile-\(what) shows \(shown) for \(wanted[what] ?? 0)") }
        }
        for what in stages ?? (walk.desk.counting?.tiles ?? []).map(\.what) {
            try await expect(what, 1, "by touch") { try await walk.touch($0) }
            try await expect(what, 1, "by adjusting up") { element in
                element.adjust?(.increment)
                try await walk.settle()
            }
            try await expect(what, -1, "by adjusting down") { element in
                element.adjust?(.decrement)
                try await walk.settle()
            }
            try await expect(what, 1, "by its action") { element in
                element.activate?()
                try await walk.settle()
            }
        }
        return found
    }
}
