@_exported import Foundation
@_exported import Observation

/// What a view becomes here when its `body` is evaluated: ours, and in no way Apple's. Tests walk over the tree, press its
/// buttons and lay it out. What passes is consistent with this stand-in; it says nothing about what Xcode compiles.
@MainActor public final class Node {
    public enum Axis: Sendable { case horizontal, vertical, depth }

    /// Lengths in points; nil where the view says nothing.
    public struct Frame: Sendable {
        public var width: CGFloat?, height: CGFloat?
        public var minWidth: CGFloat?, maxWidth: CGFloat?, minHeight: CGFloat?, maxHeight: CGFloat?
        public var alignment = Alignment.center
    }

    public enum Kind {
        case text(String, size: CGFloat, bold: Bool, lines: Int?, least: CGFloat)
        case image(String, size: CGFloat)
        /// A photo: as large as its place.
        case photo
        case button, field, toggle, progress
        case stack(Axis, spacing: CGFloat?, alignment: Alignment)
        case scroll
        case canvas(@MainActor (inout GraphicsContext, CGSize) -> Void)
        case shape(ShapeKind, fill: Color?, line: Color?, width: CGFloat)
        case spacer(least: CGFloat)
        case frame(Frame)
        case padding(EdgeInsets)
        /// Its middle lies at a point of the room that it is offered.
        case position(CGPoint)
        /// The second child lies behind the first and takes its size.
        case background
        /// The second child lies before the first and takes its size.
        case overlay(Alignment)
        /// The second child keeps the bottom, the first has the rest.
        case bottom
        /// A navigation stack: title, whether it leads back, and the page.
        case navigation
        case group
    }

    public enum ShapeKind: Sendable { case rectangle, rounded(CGFloat), circle }

    public struct Named: Sendable {
        public let name: String
        public let act: @MainActor () -> Void
    }

    public var kind: Kind
    public var children: [Node]
    public var identifier: String?
    public var label: String?
    public var value: String?
    public var hint: String?
    public var traits: AccessibilityTraits = []
    public var hidden = false
    /// Its children are spoken as one, or not at all.
    public var joined: AccessibilityChildBehavior?
    public var activate: (@MainActor () -> Void)?
    public var adjust: (@MainActor (AccessibilityAdjustmentDirection) -> Void)?
    public var named: [Named] = []
    public var tap: (@MainActor () -> Void)?
    public var spot: (@MainActor (CGPoint) -> Void)?
    public var press: (@MainActor () -> Void)?
    public var drag: (changed: (@MainActor (DragGesture.Value) -> Void)?, ended: (@MainActor (DragGesture.Value) -> Void)?)?
    public var key: (@MainActor (KeyPress) -> KeyPress.Result)?
    public var appear: [@MainActor () -> Void] = []
    public var edit: (text: @MainActor () -> String, change: @MainActor (String) -> Void)?
    public var flip: (isOn: @MainActor () -> Bool, change: @MainActor (Bool) -> Void)?
    public var title: String?
    public var ink: Color?
    public var opacity = 1.0
    public var values: EnvironmentValues

    init(_ kind: Kind, _ children: [Node] = [], _ values: EnvironmentValues) {
        self.kind = kind
        self.children = children
        self.values = values
    }

    public var enabled: Bool { values.isEnabled }

    /// The tree of a view.
    public static func tree<V: View>(of view: V, in values: EnvironmentValues) -> Node {
        let all = nodes(of: view, in: values)
        return all.count == 1 ? all[0] : Node(.group, all, values)
    }

    /// It and all below it.
    public var all: [Node] { [self] + children.flatMap(\.all) }

    /// An action that finds, whenever it is called, the environment that its view had.
    func bound<Result>(_ action: @escaping @MainActor () -> Result) -> @MainActor () -> Result {
        let values = values
        return { EnvironmentValues.within(values, action) }
    }
    func bound<Input, Result>(_ action: @escaping @MainActor (Input) -> Result) -> @MainActor (Input) -> Result {
        let values = values
        return { input in EnvironmentValues.within(values) { action(input) } }
    }

    /// The node that stands for all of these: itself where it is one.
    static func one(_ nodes: [Node], _ values: EnvironmentValues) -> Node {
        nodes.count == 1 ? nodes[0] : Node(.group, nodes, values)
    }
}

/// What the stand-in knows how to turn into nodes by itself.
@MainActor protocol Primitive {
    func nodes(in values: EnvironmentValues) -> [Node]
}

@MainActor func nodes<V: View>(of view: V, in values: EnvironmentValues) -> [Node] {
    if let primitive = view as? any Primitive { return primitive.nodes(in: values) }
    return EnvironmentValues.within(values) { nodes(of: view.body, in: values) }
}

/// A view that another one makes: for modifiers and styles.
public struct Made: View, Primitive {
    let make: @MainActor (EnvironmentValues) -> [Node]
    init(_ make: @escaping @MainActor (EnvironmentValues) -> [Node]) { self.make = make }
    public var body: Never { fatalError("made of nodes") }
    func nodes(in values: EnvironmentValues) -> [Node] { make(values) }
}
