/// Apple: "View" (SwiftUI).
@MainActor @preconcurrency public protocol View {
    associatedtype Body: View
    @ViewBuilder @MainActor @preconcurrency var body: Body { get }
}

extension Never: View {
    public var body: Never { fatalError("has no body") }
}

/// Apple: "EmptyView" (SwiftUI).
public struct EmptyView: View, Primitive {
    public nonisolated init() {}
    public var body: Never { fatalError("has no body") }
    func nodes(in values: EnvironmentValues) -> [Node] { [] }
}

/// Apple: "Group" (SwiftUI).
public struct Group<Content: View>: View, Primitive {
    let content: Content
    public init(@ViewBuilder content: () -> Content) { self.content = content() }
    public var body: Never { fatalError("has no body") }
    func nodes(in values: EnvironmentValues) -> [Node] { SwiftUI.nodes(of: content, in: values) }
}

/// What `if` without `else` gives: an optional view with Apple.
public struct Maybe<Content: View>: View, Primitive {
    let content: Content?
    public var body: Never { fatalError("has no body") }
    func nodes(in values: EnvironmentValues) -> [Node] { content.map { SwiftUI.nodes(of: $0, in: values) } ?? [] }
}

/// Apple: "TupleView" (SwiftUI).
public struct TupleView<T>: View, Primitive {
    let make: @MainActor (EnvironmentValues) -> [Node]
    public var body: Never { fatalError("has no body") }
    func nodes(in values: EnvironmentValues) -> [Node] { make(values) }
}

/// What `if` and `switch` give. Apple: "ViewBuilder", its functions `buildEither(first:)` and `buildEither(second:)`.
public enum ConditionalContent<A: View, B: View>: View, Primitive {
    case first(A), second(B)
    public var body: Never { fatalError("has no body") }
    func nodes(in values: EnvironmentValues) -> [Node] {
        switch self {
        case .first(let view): SwiftUI.nodes(of: view, in: values)
        case .second(let view): SwiftUI.nodes(of: view, in: values)
        }
    }
}

/// Apple: "ViewBuilder" (SwiftUI).
@resultBuilder @MainActor public enum ViewBuilder {
    public static func buildExpression<Content: View>(_ content: Content) -> Content { content }
    public static func buildBlock() -> EmptyView { EmptyView() }
    public static func buildBlock<Content: View>(_ content: Content) -> Content { content }
    public static func buildBlock<each Content: View>(_ content: repeat each Content) -> TupleView<(repeat each Content)> {
        var makers: [@MainActor (EnvironmentValues) -> [Node]] = []
        func add<V: View>(_ view: V) { makers.append { SwiftUI.nodes(of: view, in: $0) } }
        repeat add(each content)
        let all = makers
        return TupleView { values in all.flatMap { $0(values) } }
    }
    public static func buildIf<Content: View>(_ content: Content?) -> Maybe<Content> { Maybe(content: content) }
    public static func buildEither<A: View, B: View>(first: A) -> ConditionalContent<A, B> { .first(first) }
    public static func buildEither<A: View, B: View>(second: B) -> ConditionalContent<A, B> { .second(second) }
}

/// Apple: "ForEach" (SwiftUI), `init(_:id:content:)` and `init(_:content:)`.
public struct ForEach<Data: RandomAccessCollection, ID: Hashable, Content: View>: View, Primitive {
    let data: Data
    let id: KeyPath<Data.Element, ID>
    let content: (Data.Element) -> Content
    public init(_ data: Data, id: KeyPath<Data.Element, ID>, @ViewBuilder content: @escaping (Data.Element) -> Content) {
        (self.data, self.id, self.content) = (data, id, content)
    }
    public var body: Never { fatalError("has no body") }
    func nodes(in values: EnvironmentValues) -> [Node] {
        let names = data.map { $0[keyPath: id] }
        precondition(Set(names).count == names.count, "two of the same id: \(names)")
        return data.flatMap { SwiftUI.nodes(of: content($0), in: values) }
    }
}

extension ForEach where Data.Element: Identifiable, ID == Data.Element.ID {
    public init(_ data: Data, @ViewBuilder content: @escaping (Data.Element) -> Content) {
        self.init(data, id: \.id, content: content)
    }
}

/// Apple: "ViewModifier" (SwiftUI). `content` is what it is applied to.
@MainActor @preconcurrency public protocol ViewModifier {
    associatedtype Body: View
    typealias Content = Made
    @ViewBuilder func body(content: Content) -> Body
}

extension View {
    /// Apple: "modifier(_:)" (View).
    public func modifier<M: ViewModifier>(_ modifier: M) -> some View {
        Made { values in
            EnvironmentValues.within(values) {
                SwiftUI.nodes(of: modifier.body(content: Made { SwiftUI.nodes(of: self, in: $0) }), in: values)
            }
        }
    }
}
