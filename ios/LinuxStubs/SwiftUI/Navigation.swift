/// Apple: "NavigationStack" (SwiftUI), `init(path:root:)`. Its page gets a button back, as the system adds one.
public struct NavigationStack<Data: MutableCollection & RandomAccessCollection & RangeReplaceableCollection, Root: View>: View, Primitive
where Data.Element: Hashable {
    let path: Binding<Data>
    let root: Root
    public init(path: Binding<Data>, @ViewBuilder root: () -> Root) { (self.path, self.root) = (path, root()) }
    public var body: Never { fatalError("has no body") }
    func nodes(in values: EnvironmentValues) -> [Node] {
        var destination: (@MainActor (AnyHashable) -> Made)?
        let first = Node.one(SwiftUI.nodes(of: root, in: values), values)
        destination = first.all.compactMap { $0.values.destination }.first ?? nil
        guard let top = path.wrappedValue.last else {
            let page = Node(.navigation, [first], values)
            page.title = first.all.compactMap(\.title).first
            return [page]
        }
        guard let destination else { fatalError("no destination for \(top)") }
        let shown = Node.one(SwiftUI.nodes(of: destination(AnyHashable(top)), in: values), values)
        let back = Node(.button, [], values)
        let path = path
        back.identifier = "system-back"
        back.label = "back"
        back.press = back.bound { path.wrappedValue.removeLast() }
        let page = Node(.navigation, [shown, back], values)
        page.title = shown.all.compactMap(\.title).first
        return [page]
    }
}

extension EnvironmentValues {
    var destination: (@MainActor (AnyHashable) -> Made)? {
        get { made.map { $0.make } ?? nil }
        set { made = newValue.map(Destination.init) }
    }
}

final class Destination {
    let make: @MainActor (AnyHashable) -> Made; init(_ make: @escaping @MainActor (AnyHashable) -> Made) { self.make = make }
}

extension View {
    /// Apple: "navigationDestination(for:destination:)" (View).
    public func navigationDestination<D: Hashable, C: View>(for data: D.Type, @ViewBuilder destination: @escaping @MainActor (D) -> C)
        -> some View
    {
        Made { values in
            let inside = Node.one(SwiftUI.nodes(of: self, in: values), values)
            let node = Node(.group, [inside], values)
            node.values.destination = { place in
                guard let place = place.base as? D else { fatalError("no destination for \(place)") }
                return Made { values in SwiftUI.nodes(of: destination(place), in: values) }
            }
            return [node]
        }
    }

    /// Apple: "navigationTitle(_:)" (View).
    public func navigationTitle(_ title: Text) -> some View { marked { $0.title = title.words } }

    /// Apple: "NavigationBarItem.TitleDisplayMode" and "navigationBarTitleDisplayMode(_:)" (View).
    public func navigationBarTitleDisplayMode(_ mode: NavigationBarItem.TitleDisplayMode) -> some View { self }
}

public enum NavigationBarItem { public enum TitleDisplayMode: Sendable { case automatic, inline, large } }

/// Apple: "App", "Scene", "WindowGroup" (SwiftUI): for the compiler alone, nothing starts here.
@MainActor @preconcurrency public protocol Scene { associatedtype Body: Scene; @SceneBuilder @MainActor var body: Body { get } }
extension Never: Scene {}
@resultBuilder @MainActor public enum SceneBuilder { public static func buildBlock<C: Scene>(_ content: C) -> C { content } }
public struct WindowGroup<Content: View>: Scene {
    public init(@ViewBuilder content: () -> Content) {}
    public var body: Never { fatalError("has no body") }
}
@MainActor @preconcurrency public protocol App {
    associatedtype Body: Scene
    @SceneBuilder @MainActor var body: Body { get }
    init()
}
extension App { public static func main() { fatalError("a stand-in starts no app") } }
