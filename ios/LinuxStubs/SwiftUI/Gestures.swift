/// Apple: "Gesture" and "DragGesture" (SwiftUI): `onChanged(_:)`, `onEnded(_:)`, and of its value time, location, translation.
public protocol Gesture<Value> { associatedtype Value }

public struct DragGesture: Gesture {
    public struct Value: Equatable, Sendable {
        public var time: Date
        public var location: CGPoint
        public var translation: CGSize
    }
    var changed: (@MainActor (Value) -> Void)?
    var ended: (@MainActor (Value) -> Void)?
    public init(minimumDistance: CGFloat = 10) {}
    @MainActor public func onChanged(_ action: @escaping @MainActor (Value) -> Void) -> DragGesture {
        var own = self; own.changed = action; return own
    }
    @MainActor public func onEnded(_ action: @escaping @MainActor (Value) -> Void) -> DragGesture {
        var own = self; own.ended = action; return own
    }
}

extension DragGesture.Value {
    /// A touch as a test makes it.
    public static func touch(at time: Date, moved: CGSize = .zero) -> Self {
        .init(time: time, location: CGPoint(x: 20 + moved.width, y: 20 + moved.height), translation: moved)
    }
}

extension View {
    /// Apple: "gesture(_:)" (View).
    public func gesture(_ gesture: DragGesture) -> some View {
        marked { node in
            node.drag = (gesture.changed.map { node.bound($0) }, gesture.ended.map { node.bound($0) })
        }
    }

    /// Apple: "onTapGesture(count:perform:)" (View).
    public func onTapGesture(perform action: @escaping @MainActor () -> Void) -> some View { marked { $0.tap = $0.bound(action) } }

    /// Apple: "onTapGesture(count:coordinateSpace:perform:)" (View): where it was tapped. Here a test says where, by `spot`.
    public func onTapGesture(coordinateSpace: LocalCoordinateSpace, perform action: @escaping @MainActor (CGPoint) -> Void) -> some View {
        marked { $0.spot = $0.bound(action) }
    }

    /// Apple: "allowsHitTesting(_:)" (View).
    public func allowsHitTesting(_ enabled: Bool) -> some View { self }

    /// Apple: "contentShape(_:)" (View).
    public func contentShape<S: Shape>(_ shape: S) -> some View { self }

    /// Apple: "focusable(_:)" (View).
    public func focusable(_ isFocusable: Bool = true) -> some View { self }

    /// Apple: "focusEffectDisabled(_:)" (View).
    public func focusEffectDisabled(_ disabled: Bool = true) -> some View { self }

    /// Apple: "onKeyPress(phases:action:)" (View).
    public func onKeyPress(phases: KeyPress.Phases, action: @escaping @MainActor (KeyPress) -> KeyPress.Result) -> some View {
        marked { $0.key = $0.bound(action) }
    }
}

/// Apple: "LocalCoordinateSpace" (SwiftUI).
public struct LocalCoordinateSpace: Sendable {}
extension LocalCoordinateSpace { public static var local: LocalCoordinateSpace { .init() } }
