/// Apple: "Shape" (SwiftUI).
public protocol Shape: View, Sendable { var shapeKind: Node.ShapeKind { get } }

/// Apple: "Rectangle", "RoundedRectangle", "Circle" (SwiftUI).
public struct Rectangle: Shape, Primitive {
    public nonisolated init() {}
    public nonisolated var shapeKind: Node.ShapeKind { .rectangle }
}
public struct RoundedRectangle: Shape, Primitive {
    let radius: CGFloat
    public nonisolated init(cornerRadius: CGFloat) { radius = cornerRadius }
    public nonisolated var shapeKind: Node.ShapeKind { .rounded(radius) }
}
extension Shape {
    public var body: Never { fatalError("has no body") }
    func nodes(in values: EnvironmentValues) -> [Node] { [Node(.shape(shapeKind, fill: .black, line: nil, width: 0), [], values)] }
    /// Apple: "fill(_:style:)" (Shape).
    public func fill<S: ShapeStyle>(_ style: S) -> some View {
        Made { [Node(.shape(shapeKind, fill: style.colour, line: nil, width: 0), [], $0)] }
    }
    /// Apple: "strokeBorder(_:lineWidth:antialiased:)" (InsettableShape).
    public func strokeBorder<S: ShapeStyle>(_ style: S, lineWidth: CGFloat = 1) -> some View {
        Made { [Node(.shape(shapeKind, fill: nil, line: style.colour, width: lineWidth), [], $0)] }
    }
}

/// Apple: "Path" (SwiftUI): `move(to:)`, `addLine(to:)`, `addCurve(to:control1:control2:)`, `addEllipse(in:)`, `closeSubpath()`.
public struct Path: Sendable {
    public enum Step: Sendable { case move(CGPoint), line(CGPoint), curve(CGPoint, CGPoint, CGPoint), ellipse(CGRect), close }
    public private(set) var steps: [Step] = []
    public init() {}
    public mutating func move(to point: CGPoint) { steps.append(.move(point)) }
    public mutating func addLine(to point: CGPoint) { steps.append(.line(point)) }
    public mutating func addCurve(to point: CGPoint, control1: CGPoint, control2: CGPoint) {
        steps.append(.curve(control1, control2, point))
    }
    public mutating func addEllipse(in rect: CGRect) { steps.append(.ellipse(rect)) }
    public mutating func closeSubpath() { steps.append(.close) }
}

/// Apple: "StrokeStyle" (SwiftUI).
public struct StrokeStyle: Sendable {
    public var lineWidth: CGFloat, dash: [CGFloat]
    public init(lineWidth: CGFloat = 1, lineCap: CGLineCap = .butt, lineJoin: CGLineJoin = .miter, dash: [CGFloat] = []) {
        (self.lineWidth, self.dash) = (lineWidth, dash)
    }
}
/// Apple: "CGLineCap" and "CGLineJoin" (Core Graphics).
public enum CGLineCap: Sendable { case butt, round, square }
public enum CGLineJoin: Sendable { case miter, round, bevel }

/// Apple: "GraphicsContext" (SwiftUI): `translateBy(x:y:)`, `scaleBy(x:y:)`, `fill(_:with:)`, `stroke(_:with:style:)`,
/// `draw(_:at:anchor:)`.
public struct GraphicsContext {
    public struct Shading: Sendable {
        let colour: Color
        public static func color(_ color: Color) -> Shading { Shading(colour: color) }
    }
    /// What was painted, in order, in the units of the canvas.
    public struct Painted: Sendable {
        public let path: Path, fill: Color?, line: Color?, width: CGFloat, dash: [CGFloat], shift: CGPoint, scale: CGFloat
    }
    public private(set) var painted: [Painted] = []
    /// What was written, in the units of the canvas.
    public struct Written: Sendable {
        public let words: String, size: CGFloat, bold: Bool, ink: Color, at: CGPoint, anchor: UnitPoint, shift: CGPoint, scale: CGFloat
    }
    public private(set) var written: [Written] = []
    private var shift = CGPoint.zero
    private var scale: CGFloat = 1
    public init() {}
    public mutating func translateBy(x: CGFloat, y: CGFloat) { shift = CGPoint(x: shift.x + x * scale, y: shift.y + y * scale) }
    public mutating func scaleBy(x: CGFloat, y: CGFloat) { scale *= x }
    public mutating func fill(_ path: Path, with shading: Shading) {
        painted.append(.init(path: path, fill: shading.colour, line: nil, width: 0, dash: [], shift: shift, scale: scale))
    }
    public mutating func draw(_ text: Text, at point: CGPoint, anchor: UnitPoint = .center) {
        let font = text.ownFont ?? .body
        written.append(
            .init(
                words: text.words, size: font.size, bold: font.heavy, ink: text.ownInk ?? .black, at: point, anchor: anchor, shift: shift,
                scale: scale))
    }
    public mutating func stroke(_ path: Path, with shading: Shading, style: StrokeStyle) {
        painted.append(
            .init(path: path, fill: nil, line: shading.colour, width: style.lineWidth, dash: style.dash, shift: shift, scale: scale))
    }
}

/// Apple: "Canvas" (SwiftUI), `init(opaque:colorMode:rendersAsynchronously:renderer:)`.
public struct Canvas: View, Primitive {
    let renderer: @MainActor (inout GraphicsContext, CGSize) -> Void
    public init(renderer: @escaping @MainActor (inout GraphicsContext, CGSize) -> Void) { self.renderer = renderer }
    public var body: Never { fatalError("has no body") }
    func nodes(in values: EnvironmentValues) -> [Node] {
        let renderer = renderer
        return [Node(.canvas { context, size in EnvironmentValues.within(values) { renderer(&context, size) } }, [], values)]
    }
}
