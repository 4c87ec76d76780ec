/// Apple: "Text" (SwiftUI), `init(verbatim:)`.
public struct Text: View, Primitive, Sendable {
    let words: String
    /// What it was given itself, which goes before what stands around it.
    private(set) var ownFont: Font?
    private(set) var ownInk: Color?
    public nonisolated init(verbatim content: String) { words = content }
    /// Apple: "font(_:)" and "foregroundStyle(_:)" (Text), which give a text again.
    public func font(_ font: Font?) -> Text { var own = self; own.ownFont = font; return own }
    public func foregroundStyle(_ style: Color) -> Text { var own = self; own.ownInk = style; return own }
    public var body: Never { fatalError("has no body") }
    func nodes(in values: EnvironmentValues) -> [Node] {
        let font = ownFont ?? values.font ?? .body
        let bold = font.heavy || values.bold
        let node = Node(
            .text(words, size: font.height(values.dynamicTypeSize), bold: bold, lines: values.lines, least: values.least), [], values)
        node.ink = ownInk ?? values.ink
        return [node]
    }
}

extension Font {
    /// Height of the letters at a text size, in points, after the tables of Apple's Human Interface Guidelines (page
    /// "Typography"), from memory; below the accessibility sizes all styles grow by as many points as body text does.
    func height(_ letters: DynamicTypeSize) -> CGFloat {
        let body: [CGFloat] = [14, 15, 16, 17, 19, 21, 23, 28, 33, 40, 47, 53]
        guard letters.isAccessibilitySize else { return size + body[letters.rawValue] - 17 }
        let at = letters.rawValue - DynamicTypeSize.accessibility1.rawValue
        let large: [CGFloat: [CGFloat]] = [
            34: [44, 48, 52, 56, 60], 28: [38, 43, 48, 53, 58], 22: [34, 39, 44, 50, 56], 20: [31, 37, 43, 49, 55],
            17: [28, 33, 40, 47, 53], 16: [26, 32, 38, 44, 51],
        ]
        return large[size]?[at] ?? size * body[letters.rawValue] / 17
    }
}

/// Apple: "Image" (SwiftUI), `init(systemName:)`.
public struct Image: View, Primitive {
    let name: String
    fileprivate(set) var photo = false
    public nonisolated init(systemName: String) { name = systemName }
    public var body: Never { fatalError("has no body") }
    func nodes(in values: EnvironmentValues) -> [Node] {
        if photo { return [Node(.photo, [], values)] }
        let node = Node(.image(name, size: (values.font ?? .body).height(values.dynamicTypeSize)), [], values)
        node.ink = values.ink
        return [node]
    }
}

/// Apple: "UIImage" (UIKit), `init?(data:)` and `size`; of a JPEG, whose size stands in its frame header (ITU-T T.81, B.2.2).
public final class UIImage: Sendable {
    public let size: CGSize
    public init?(data: Data) {
        let octets = [UInt8](data)
        guard octets.starts(with: [0xFF, 0xD8]) else { return nil }
        var at = 2
        while at + 9 < octets.count, octets[at] == 0xFF {
            let frame = (0xC0...0xCF).contains(octets[at + 1]) && ![0xC4, 0xC8, 0xCC].contains(octets[at + 1])
            if frame {
                let high = Int(octets[at + 5]) << 8 | Int(octets[at + 6])
                let wide = Int(octets[at + 7]) << 8 | Int(octets[at + 8])
                size = CGSize(width: wide, height: high)
                return
            }
            at += 2 + (Int(octets[at + 2]) << 8 | Int(octets[at + 3]))
        }
        return nil
    }
}
extension Image {
    /// Apple: "init(uiImage:)" and "resizable(capInsets:resizingMode:)" (Image). Photos are always resized here.
    public init(uiImage: UIImage) { self.init(systemName: ""); photo = true }
    public func resizable() -> Image { self }
}

/// Apple: "ButtonRole" (SwiftUI).
public struct ButtonRole: Equatable, Sendable {
    let own: Int
    public static let destructive = ButtonRole(own: 1), cancel = ButtonRole(own: 2)
}

/// Apple: "Button" (SwiftUI), `init(action:label:)`.
public struct Button<Label: View>: View, Primitive {
    let action: @MainActor () -> Void
    let label: Label
    public init(action: @escaping @MainActor () -> Void, @ViewBuilder label: () -> Label) { (self.action, self.label) = (action, label()) }
    public var body: Never { fatalError("has no body") }
    func nodes(in values: EnvironmentValues) -> [Node] {
        let inside = values.style.map { $0(.init(label: Made { SwiftUI.nodes(of: label, in: $0) }, isPressed: false), values) }
        let node = Node(.button, inside ?? SwiftUI.nodes(of: label, in: values), values)
        node.press = node.bound(action)
        return [node]
    }
}

/// Apple: "ButtonStyle" and "ButtonStyleConfiguration" (SwiftUI).
public struct ButtonStyleConfiguration {
    public let label: Made
    public let isPressed: Bool
}
@MainActor @preconcurrency public protocol ButtonStyle {
    associatedtype Body: View
    typealias Configuration = ButtonStyleConfiguration
    @ViewBuilder func makeBody(configuration: Configuration) -> Body
}
extension View {
    /// Apple: "buttonStyle(_:)" (View).
    public func buttonStyle<S: ButtonStyle>(_ style: S) -> some View {
        changed {
            $0.style = { configuration, values in
                EnvironmentValues.within(values) { SwiftUI.nodes(of: style.makeBody(configuration: configuration), in: values) }
            }
        }
    }
}

/// Apple: "TextField" (SwiftUI), `init(text:prompt:label:)`.
public struct TextField<Label: View>: View, Primitive {
    let text: Binding<String>
    let label: Label
    public init(text: Binding<String>, prompt: Text? = nil, @ViewBuilder label: () -> Label) { (self.text, self.label) = (text, label()) }
    public var body: Never { fatalError("has no body") }
    func nodes(in values: EnvironmentValues) -> [Node] {
        let shown = Text(verbatim: text.wrappedValue).nodes(in: values)
        let node = Node(.field, shown, values)
        node.label = SwiftUI.nodes(of: label, in: values).flatMap(\.all).compactMap(\.words).joined(separator: ", ")
        let text = text
        node.edit = (node.bound { text.wrappedValue }, node.bound { text.wrappedValue = $0 })
        return [node]
    }
}

/// Apple: "Toggle" (SwiftUI), `init(isOn:label:)`.
public struct Toggle<Label: View>: View, Primitive {
    let isOn: Binding<Bool>
    let label: Label
    public init(isOn: Binding<Bool>, @ViewBuilder label: () -> Label) { (self.isOn, self.label) = (isOn, label()) }
    public var body: Never { fatalError("has no body") }
    func nodes(in values: EnvironmentValues) -> [Node] {
        let node = Node(.toggle, SwiftUI.nodes(of: label, in: values), values)
        let isOn = isOn
        node.flip = (node.bound { isOn.wrappedValue }, node.bound { isOn.wrappedValue = $0 })
        return [node]
    }
}

/// Apple: "ProgressView" (SwiftUI), `init()`.
public struct ProgressView: View, Primitive {
    public init() {}
    public var body: Never { fatalError("has no body") }
    func nodes(in values: EnvironmentValues) -> [Node] { [Node(.progress, [], values)] }
}

/// Apple: "Spacer" (SwiftUI).
public struct Spacer: View, Primitive {
    let least: CGFloat?
    public init(minLength: CGFloat? = nil) { least = minLength }
    public var body: Never { fatalError("has no body") }
    func nodes(in values: EnvironmentValues) -> [Node] { [Node(.spacer(least: least ?? 8), [], values)] }
}

/// Apple: "VStack", "HStack", "ZStack", "ScrollView" (SwiftUI).
public struct VStack<Content: View>: View, Primitive {
    let alignment: HorizontalAlignment, spacing: CGFloat?, content: Content
    public init(alignment: HorizontalAlignment = .center, spacing: CGFloat? = nil, @ViewBuilder content: () -> Content) {
        (self.alignment, self.spacing, self.content) = (alignment, spacing, content())
    }
    public var body: Never { fatalError("has no body") }
    func nodes(in values: EnvironmentValues) -> [Node] {
        [
            Node(
                .stack(.vertical, spacing: spacing, alignment: .init(horizontal: alignment, vertical: .center)),
                SwiftUI.nodes(of: content, in: values), values)
        ]
    }
}
public struct HStack<Content: View>: View, Primitive {
    let alignment: VerticalAlignment, spacing: CGFloat?, content: Content
    public init(alignment: VerticalAlignment = .center, spacing: CGFloat? = nil, @ViewBuilder content: () -> Content) {
        (self.alignment, self.spacing, self.content) = (alignment, spacing, content())
    }
    public var body: Never { fatalError("has no body") }
    func nodes(in values: EnvironmentValues) -> [Node] {
        [
            Node(
                .stack(.horizontal, spacing: spacing, alignment: .init(horizontal: .center, vertical: alignment)),
                SwiftUI.nodes(of: content, in: values), values)
        ]
    }
}
public struct ZStack<Content: View>: View, Primitive {
    let alignment: Alignment, content: Content
    public init(alignment: Alignment = .center, @ViewBuilder content: () -> Content) {
        (self.alignment, self.content) = (alignment, content())
    }
    public var body: Never { fatalError("has no body") }
    func nodes(in values: EnvironmentValues) -> [Node] {
        [Node(.stack(.depth, spacing: 0, alignment: alignment), SwiftUI.nodes(of: content, in: values), values)]
    }
}
public struct ScrollView<Content: View>: View, Primitive {
    let content: Content
    public init(@ViewBuilder content: () -> Content) { self.content = content() }
    public var body: Never { fatalError("has no body") }
    func nodes(in values: EnvironmentValues) -> [Node] {
        let inside = SwiftUI.nodes(of: content, in: values)
        return [Node(.scroll, [Node.one(inside, values)], values)]
    }
}

/// Apple: "GeometryReader" and "GeometryProxy" (SwiftUI). Here the room is that of the screen without its bars.
public struct GeometryProxy: Sendable { public let size: CGSize }
public struct GeometryReader<Content: View>: View, Primitive {
    let content: (GeometryProxy) -> Content
    public init(@ViewBuilder content: @escaping (GeometryProxy) -> Content) { self.content = content }
    public var body: Never { fatalError("has no body") }
    func nodes(in values: EnvironmentValues) -> [Node] {
        let room = CGSize(width: values.screen.width, height: values.screen.height - Node.bars)
        let inside = SwiftUI.nodes(of: content(GeometryProxy(size: room)), in: values)
        let frame = Node.Frame(minWidth: 0, maxWidth: .infinity, minHeight: 0, maxHeight: .infinity, alignment: .topLeading)
        return [Node(.frame(frame), [Node.one(inside, values)], values)]
    }
}

extension Node {
    /// Status bar and navigation bar of a phone with a home button, in points (44 + 20).
    public static var bars: CGFloat { 64 }

    /// The text of a text.
    public var words: String? { if case .text(let words, _, _, _, _) = kind { words } else { nil } }
}
