import Foundation
import LeafturnViews
import SwiftUI

/// Draws a laid-out tree as SVG: a schema of the screen, not a picture of a phone.
@MainActor public struct Picture {
    private var out: [String] = []
    private let size: CGSize
    private var clip = 0

    public static func svg(of laid: Laid, ground: Color, caption: String) -> String {
        var own = Picture(size: laid.frame.size)
        own.paint(laid, opacity: 1)
        let height = own.size.height + 24
        return """
            <svg xmlns="http://www.w3.org/2000/svg" width="\(n(own.size.width))" height="\(n(height))" viewBox="0 0 \(n(own.size.width)) \(n(height))">
            <rect width="100%" height="100%" fill="#fff"/>
            <rect width="\(n(own.size.width))" height="\(n(own.size.height))" fill="\(hex(ground))"/>
            \(own.out.joined(separator: "\n"))
            <rect x="0.5" y="0.5" width="\(n(own.size.width - 1))" height="\(n(own.size.height - 1))" fill="none" stroke="#999"/>
            <text x="4" y="\(n(own.size.height + 16))" font-family="sans-serif" font-size="11" fill="#333">\(escaped("schematic: " + caption))</text>
            </svg>
            """
    }

    private init(size: CGSize) { self.size = size }

    private mutating func paint(_ laid: Laid, opacity: Double) {
        let node = laid.node
        let frame = laid.frame
        let opacity = opacity * node.opacity
        guard opacity > 0 else { return }
        switch node.kind {
        case .text(let words, let height, let bold, let lines, let least):
            text(words, height, bold, lines, least, frame, node.ink ?? .black)
        case .image(let name, _): image(name, frame, node.ink ?? .black)
        case .shape(let kind, let fill, let line, let width): shape(kind, fill, line, width, frame)
        case .canvas(let renderer):
            var context = GraphicsContext()
            renderer(&context, frame.size)
            out.append("<g transform=\"translate(\(Self.n(frame.minX)) \(Self.n(frame.minY)))\">")
            context.painted.forEach { drawn($0) }
            context.written.forEach { written($0) }
            out.append("</g>")
        case .photo: photo(frame)
        case .scroll, .bottom, .navigation: clipped(laid, opacity)
        default: laid.children.forEach { paint($0, opacity: opacity) }
        }
        if case .navigation = node.kind { bar(laid) }
        if case .progress = node.kind {
            out.append(
                "<circle cx=\"\(Self.n(frame.midX))\" cy=\"\(Self.n(frame.midY))\" r=\"9\" fill=\"none\" stroke=\"#888\" stroke-width=\"3\" stroke-dasharray=\"40 20\"/>"
            )
        }
    }

    private mutating func clipped(_ laid: Laid, _ opacity: Double) {
        clip += 1
        let frame = laid.frame
        out.append(
            "<clipPath id=\"c\(clip)\"><rect x=\"\(Self.n(frame.minX))\" y=\"\(Self.n(frame.minY))\" width=\"\(Self.n(frame.width))\" height=\"\(Self.n(frame.height))\"/></clipPath><g clip-path=\"url(#c\(clip))\">"
        )
        laid.children.forEach { paint($0, opacity: opacity) }
        out.append("</g>")
    }

    private mutating func bar(_ laid: Laid) {
        let ink = laid.node.values.colorScheme == .dark ? "#fff" : "#111"
        if laid.node.children.count > 1 {
            out.append("<path d=\"M 20 35 L 11 44 L 20 53\" fill=\"none\" stroke=\"\(ink)\" stroke-width=\"2.5\"/>")
        }
        if let title = laid.node.title {
            out.append(
                "<text x=\"\(Self.n(laid.frame.midX))\" y=\"50\" font-family=\"Liberation Sans, Helvetica, sans-serif\" font-size=\"\(Self.n(min(17, 17 * (laid.frame.width - 90) / Letters.width(title, 17, true))))\" font-weight=\"bold\" text-anchor=\"middle\" fill=\"\(ink)\">\(Self.escaped(title))</text>"
            )
        }
    }

    private mutating func text(
        _ words: String, _ height: CGFloat, _ bold: Bool, _ lines: Int?, _ least: CGFloat, _ frame: CGRect, _ ink: Color
    ) {
        let fit = Letters.fit(
            words, height: height, bold: bold, lines: lines, least: least, in: Layout.Room(width: frame.width, height: frame.height))
        let size = height * fit.share
        for (at, line) in fit.lines.enumerated() {
            let y = frame.minY + (CGFloat(at) + 0.8) * size * Letters.line
            let wide = Letters.width(line, size, bold)
            out.append(
                "<text x=\"\(Self.n(frame.minX))\" y=\"\(Self.n(y))\" font-family=\"Liberation Sans, Helvetica, sans-serif\" font-size=\"\(Self.n(size))\"\(bold ? " font-weight=\"bold\"" : "") fill=\"\(Self.hex(ink))\" textLength=\"\(Self.n(wide))\" lengthAdjust=\"spacingAndGlyphs\">\(Self.escaped(line))</text>"
            )
        }
    }

    /// The few symbols that are used, by their outline.
    private mutating func image(_ name: String, _ frame: CGRect, _ ink: Color) {
        let x = frame.midX, y = frame.midY, r = frame.width * 0.36
        let line = "fill=\"none\" stroke=\"\(Self.hex(ink))\" stroke-width=\"2\""
        if name.hasPrefix("circle") {
            out.append("<circle cx=\"\(Self.n(x))\" cy=\"\(Self.n(y))\" r=\"\(Self.n(r))\" \(line)/>")
            if name.contains("filled") {
                out.append("<circle cx=\"\(Self.n(x))\" cy=\"\(Self.n(y))\" r=\"\(Self.n(r * 0.6))\" fill=\"\(Self.hex(ink))\"/>")
            }
        } else {
            out.append(
                "<rect x=\"\(Self.n(x - r))\" y=\"\(Self.n(y - r))\" width=\"\(Self.n(2 * r))\" height=\"\(Self.n(2 * r))\" rx=\"3\" \(line)/>"
            )
            if name.hasPrefix("checkmark") {
                out.append(
                    "<path d=\"M \(Self.n(x - r / 2)) \(Self.n(y)) L \(Self.n(x - r / 8)) \(Self.n(y + r / 2)) L \(Self.n(x + r / 2)) \(Self.n(y - r / 2))\" \(line)/>"
                )
            }
        }
    }

    private mutating func shape(_ kind: Node.ShapeKind, _ fill: Color?, _ line: Color?, _ width: CGFloat, _ frame: CGRect) {
        let paint = fill.map { "fill=\"\(Self.hex($0))\"" } ?? "fill=\"none\""
        let edge = line.map { " stroke=\"\(Self.hex($0))\" stroke-width=\"\(Self.n(width))\"" } ?? ""
        let inner = frame.insetBy(dx: width / 2, dy: width / 2)
        var round: CGFloat = 0
        if case .rounded(let radius) = kind { round = radius }
        out.append(
            "<rect x=\"\(Self.n(inner.minX))\" y=\"\(Self.n(inner.minY))\" width=\"\(Self.n(max(inner.width, 0)))\" height=\"\(Self.n(max(inner.height, 0)))\" rx=\"\(Self.n(round))\" \(paint)\(edge)/>"
        )
    }

    private mutating func drawn(_ own: GraphicsContext.Painted) {
        func p(_ point: CGPoint) -> String { "\(Self.n(point.x)) \(Self.n(point.y))" }
        let path = own.path.steps.map { (step: SwiftUI.Path.Step) -> String in
            switch step {
            case .move(let to): "M \(p(to))"
            case .line(let to): "L \(p(to))"
            case .curve(let first, let second, let to): "C \(p(first)) \(p(second)) \(p(to))"
            case .ellipse(let rect): Self.ellipse(rect)
            case .close: "Z"
            }
        }.joined(separator: " ")
        let dash = own.dash.isEmpty ? "" : " stroke-dasharray=\"\(own.dash.map(Self.n).joined(separator: " "))\""
        var paint = "fill=\"none\""
        if let fill = own.fill { paint = "fill=\"\(Self.hex(fill))\"" }
        if let line = own.line {
            paint += " stroke=\"\(Self.hex(line))\" stroke-width=\"\(Self.n(own.width))\" stroke-linecap=\"round\"\(dash)"
        }
        let scale = String(format: "%.4f", Double(own.scale))
        out.append("<path transform=\"translate(\(Self.n(own.shift.x)) \(Self.n(own.shift.y))) scale(\(scale))\" d=\"\(path)\" \(paint)/>")
    }

    private mutating func written(_ own: GraphicsContext.Written) {
        let scale = own.scale, size = own.size * scale
        let x = own.shift.x + own.at.x * scale, y = own.shift.y + own.at.y * scale + (0.8 - own.anchor.y) * size
        let anchor = own.anchor.x < 0.25 ? "start" : own.anchor.x > 0.75 ? "end" : "middle"
        out.append(
            "<text x=\"\(Self.n(x))\" y=\"\(Self.n(y))\" font-family=\"Liberation Sans, Helvetica, sans-serif\" font-size=\"\(Self.n(size))\"\(own.bold ? " font-weight=\"bold\"" : "") text-anchor=\"\(anchor)\" fill=\"\(Self.hex(own.ink))\">\(Self.escaped(own.words))</text>"
        )
    }

    /// Where a photo would be: grey, crossed.
    private mutating func photo(_ frame: CGRect) {
        let (left, top, right, bottom) = (Self.n(frame.minX), Self.n(frame.minY), Self.n(frame.maxX), Self.n(frame.maxY))
        out.append(
            "<path d=\"M \(left) \(top) H \(right) V \(bottom) H \(left) Z M \(left) \(top) L \(right) \(bottom) M \(right) \(top) L \(left) \(bottom)\" fill=\"#b8b8b8\" stroke=\"#999\"/>"
        )
    }

    private static func ellipse(_ rect: CGRect) -> String {
        let half = "\(n(rect.width / 2)) \(n(rect.height / 2)) 0 1 0"
        return "M \(n(rect.minX)) \(n(rect.midY)) a \(half) \(n(rect.width)) 0 a \(half) \(n(-rect.width)) 0"
    }

    private static func n(_ length: CGFloat) -> String { String(format: "%.1f", Double(length)) }

    private static func hex(_ own: Color) -> String {
        "#" + [own.red, own.green, own.blue].map { String(format: "%02x", Int(($0 * 255).rounded())) }.joined()
    }

    private static func escaped(_ text: String) -> String {
        text.replacingOccurrences(of: "&", with: "&amp;").replacingOccurrences(of: "<", with: "&lt;").replacingOccurrences(
            of: "\"", with: "&quot;")
    }
}
