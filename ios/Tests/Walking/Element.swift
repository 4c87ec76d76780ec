import SwiftUI

/// What a screen reader meets: one element with all that views around it say about it.
@MainActor public struct Element {
    public let laid: Laid
    /// Where it takes touches.
    public var frame: CGRect
    public var kind: Kind
    public var identifier = ""
    public var label = ""
    public var value = ""
    public var hint = ""
    public var traits: AccessibilityTraits = []
    public var activate: (@MainActor () -> Void)?
    public var adjust: (@MainActor (AccessibilityAdjustmentDirection) -> Void)?
    public var named: [Node.Named] = []
    public var drag: (changed: (@MainActor (DragGesture.Value) -> Void)?, ended: (@MainActor (DragGesture.Value) -> Void)?)?
    public var edit: (text: @MainActor () -> String, change: @MainActor (String) -> Void)?
    public var enabled = true
    public var scrolls = false

    public enum Kind: Sendable { case text, button, field, toggle, joined }

    /// Whether it is there to be touched.
    public var isControl: Bool { kind != .text && (activate != nil || drag != nil || edit != nil || adjust != nil || kind == .button) }

    /// A grip on a photo, which is dragged and not tapped.
    public var isGrip: Bool { identifier.hasPrefix("grip-") }

    public var name: String { identifier.isEmpty ? label : identifier }

    /// All elements of a screen, in the order in which they are read.
    public static func all(of laid: Laid) -> [Element] { found(laid, About()) }

    /// What was said on the way down, the outermost first.
    private struct About {
        var identifier: String?, label: String?, value: String?, hint: String?
        var traits: AccessibilityTraits = []
        var activate: (@MainActor () -> Void)?
        var adjust: (@MainActor (AccessibilityAdjustmentDirection) -> Void)?
        var named: [Node.Named] = []
        var drag: (changed: (@MainActor (DragGesture.Value) -> Void)?, ended: (@MainActor (DragGesture.Value) -> Void)?)?
        var joined = false
        var scrolls = false
        var tapped: CGRect?
    }

    private static func found(_ laid: Laid, _ around: About) -> [Element] {
        let node = laid.node
        guard !node.hidden, node.opacity > 0 else { return [] }
        var about = around
        about.identifier = about.identifier ?? node.identifier
        about.label = about.label ?? node.label
        about.value = about.value ?? node.value
        about.hint = about.hint ?? node.hint
        about.traits.formUnion(node.traits)
        about.activate = about.activate ?? node.activate
        about.adjust = about.adjust ?? node.adjust
        about.named = node.named + about.named
        about.drag = about.drag ?? node.drag
        if node.tap != nil { about.tapped = about.tapped ?? laid.frame }
        if node.joined == .ignore || node.joined == .combine { about.joined = true }
        if case .scroll = node.kind { about.scrolls = true }
        switch node.kind {
        case .button: return [made(laid, about, .button)]
        case .field: return [made(laid, about, .field)]
        case .toggle: return [made(laid, about, .toggle)]
        case .text(let words, _, _, _, _):
            if about.joined { return [] }
            return words.isEmpty ? [] : [made(laid, about, .text)]
        default: break
        }
        if about.joined, node.joined != nil {
            return [made(laid, about, .joined)]
        }
        return laid.children.flatMap { found($0, about) }
    }

    private static func made(_ laid: Laid, _ about: About, _ kind: Kind) -> Element {
        var own = Element(laid: laid, frame: about.tapped ?? laid.frame, kind: kind)
        let words = laid.all.compactMap { $0.node.hidden ? nil : $0.node.words }.joined(separator: ", ")
        own.identifier = about.identifier ?? ""
        own.label = about.label ?? (kind == .field ? "" : words)
        own.value = about.value ?? (kind == .field ? words : "")
        own.hint = about.hint ?? ""
        own.traits = about.traits
        own.activate = about.activate ?? laid.node.press
        own.adjust = about.adjust
        own.named = about.named
        // A gesture inside of what is spoken as one is still there for the finger.
        own.drag = about.drag ?? (kind == .joined ? laid.all.compactMap(\.node.drag).first : nil)
        own.edit = laid.node.edit
        own.enabled = laid.node.enabled
        own.scrolls = about.scrolls
        return own
    }
}
