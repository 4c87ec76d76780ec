/// Apple: "Binding" (SwiftUI).
@propertyWrapper @dynamicMemberLookup public struct Binding<Value> {
    let read: () -> Value
    let write: (Value) -> Void
    public var wrappedValue: Value {
        get { read() }
        nonmutating set { write(newValue) }
    }
    public var projectedValue: Binding<Value> { self }
    public init(get: @escaping () -> Value, set: @escaping (Value) -> Void) { (read, write) = (get, set) }
    public static func constant(_ value: Value) -> Binding<Value> { .init(get: { value }, set: { _ in }) }
    public subscript<Subject>(dynamicMember path: WritableKeyPath<Value, Subject>) -> Binding<Subject> {
        .init(get: { wrappedValue[keyPath: path] }, set: { wrappedValue[keyPath: path] = $0 })
    }
}

/// Apple: "State" (SwiftUI). Here it lives in the struct that declares it, so only what is made once may have one: the app.
@propertyWrapper public struct State<Value> {
    final class Box { var value: Value; init(_ value: Value) { self.value = value } }
    let box: Box
    public init(wrappedValue: Value) { box = Box(wrappedValue) }
    public init(initialValue: Value) { box = Box(initialValue) }
    public var wrappedValue: Value {
        get { box.value }
        nonmutating set { box.value = newValue }
    }
    public var projectedValue: Binding<Value> { let box = box; return .init(get: { box.value }, set: { box.value = $0 }) }
}

/// Apple: "FocusState" (SwiftUI) of a Boolean, and "focused(_:)" (View).
@propertyWrapper public struct FocusState<Value> {
    let box: State<Value>.Box
    public init() where Value == Bool { box = .init(false) }
    public var wrappedValue: Value {
        get { box.value }
        nonmutating set { box.value = newValue }
    }
    public var projectedValue: Binding { Binding(box: box) }
    public struct Binding { let box: State<Value>.Box }
}
extension View {
    public func focused(_ condition: FocusState<Bool>.Binding) -> some View { self }
}

/// Apple: "Bindable" (SwiftUI).
@propertyWrapper @dynamicMemberLookup public struct Bindable<Value: AnyObject> where Value: Observable {
    public var wrappedValue: Value
    public var projectedValue: Bindable<Value> { self }
    public init(wrappedValue: Value) { self.wrappedValue = wrappedValue }
    public init(_ value: Value) { wrappedValue = value }
    public subscript<Subject>(dynamicMember path: ReferenceWritableKeyPath<Value, Subject>) -> Binding<Subject> {
        let object = wrappedValue
        return .init(get: { object[keyPath: path] }, set: { object[keyPath: path] = $0 })
    }
}

/// Apple: "EnvironmentValues" (SwiftUI). `screen` and `objects` are ours.
public struct EnvironmentValues {
    public var dynamicTypeSize = DynamicTypeSize.large
    public var colorScheme = ColorScheme.light
    public var layoutDirection = LayoutDirection.leftToRight
    public var isEnabled = true
    public var accessibilityReduceMotion = false
    public var scenePhase = ScenePhase.active
    /// The room of the whole screen in points.
    public var screen = CGSize(width: 375, height: 667)
    var objects: [ObjectIdentifier: AnyObject] = [:]
    var font: Font?
    var bold = false
    var lines: Int?
    var least: CGFloat = 1
    var ink: Color?
    var made: Destination?
    var style: (@MainActor (ButtonStyleConfiguration, EnvironmentValues) -> [Node])?

    public init() {}

    @MainActor private static var current = EnvironmentValues()

    @MainActor static func within<Result>(_ values: EnvironmentValues, _ work: () -> Result) -> Result {
        let before = current
        current = values
        defer { current = before }
        return work()
    }

    @MainActor static var here: EnvironmentValues { current }
}

/// Apple: "Environment" (SwiftUI), `init(_:)` with a key path and with the type of an observable object.
@MainActor @propertyWrapper public struct Environment<Value> {
    let read: (EnvironmentValues) -> Value
    public init(_ path: KeyPath<EnvironmentValues, Value>) {
        read = { $0[keyPath: path] }
    }
    public init(_ type: Value.Type) where Value: AnyObject, Value: Observable {
        read = { values in
            guard let object = values.objects[ObjectIdentifier(type)] as? Value else { fatalError("no \(type) in the environment") }
            return object
        }
    }
    public var wrappedValue: Value { read(EnvironmentValues.here) }
}

extension View {
    /// Apple: "environment(_:)" (View).
    public func environment<T: AnyObject & Observable>(_ object: T?) -> some View {
        Made { values in
            var values = values
            values.objects[ObjectIdentifier(T.self)] = object
            return SwiftUI.nodes(of: self, in: values)
        }
    }

    /// Apple: "environment(_:_:)" (View).
    public func environment<V>(_ path: WritableKeyPath<EnvironmentValues, V>, _ value: V) -> some View {
        changed { $0[keyPath: path] = value }
    }

    func changed(_ change: @escaping (inout EnvironmentValues) -> Void) -> Made {
        Made { values in
            var values = values
            change(&values)
            return SwiftUI.nodes(of: self, in: values)
        }
    }
}

/// Apple: "DynamicTypeSize" (SwiftUI).
public enum DynamicTypeSize: Int, Comparable, CaseIterable, Sendable {
    case xSmall, small, medium, large, xLarge, xxLarge, xxxLarge
    case accessibility1, accessibility2, accessibility3, accessibility4, accessibility5
    public var isAccessibilitySize: Bool { self >= .accessibility1 }
    public static func < (one: Self, other: Self) -> Bool { one.rawValue < other.rawValue }
}

/// Apple: "ColorScheme" (SwiftUI).
public enum ColorScheme: Sendable { case light, dark }

/// Apple: "LayoutDirection" (SwiftUI).
public enum LayoutDirection: Sendable { case leftToRight, rightToLeft }

/// Apple: "ScenePhase" (SwiftUI).
public enum ScenePhase: Sendable { case background, inactive, active }
