import LeafturnCore
import LeafturnModels
import SwiftUI

/// Paints a drawing of the core, as large as fits, in the middle; for beside words that say the same.
struct SpecimenView: View {
    let drawing: Drawing

    var body: some View {
        Canvas { context, size in drawing.paint(&context, size) }
            .accessibilityHidden(true)
    }
}

/// A drawing of the core by itself: on white, with its texts, and spoken.
struct FigureView: View {
    let drawing: Drawing

    var body: some View {
        Canvas { context, size in
            drawing.paint(&context, size)
            drawing.write(&context)
        }
        .background { RoundedRectangle(cornerRadius: Look.gap / 2).fill(Color.white) }
        .accessibilityElement(children: .ignore)
        .accessibilityLabel(Text(verbatim: drawing.title))
        .accessibilityValue(Text(verbatim: drawing.description))
        .accessibilityIdentifier("drawing")
    }
}

extension Drawing {
    /// Its shapes, as large as fits; what follows is in the units of the drawing.
    fileprivate func paint(_ context: inout GraphicsContext, _ size: CGSize) {
        let scale = min(size.width / CGFloat(width), size.height / CGFloat(height))
        context.translateBy(x: (size.width - CGFloat(width) * scale) / 2, y: (size.height - CGFloat(height) * scale) / 2)
        context.scaleBy(x: scale, y: scale)
        for own in paths {
            let path = own.drawn
            if let fill = own.fill { context.fill(path, with: .color(fill.colour)) }
            if let line = own.line {
                let style = StrokeStyle(lineWidth: own.width, lineCap: .round, lineJoin: .round, dash: own.dashes.map { CGFloat($0) })
                context.stroke(path, with: .color(line.colour), style: style)
            }
        }
    }

    /// Its texts. They grow with the drawing and not with the person's text size: each belongs to a place in it.
    @MainActor fileprivate func write(_ context: inout GraphicsContext) {
        for own in texts {
            let text = Text(verbatim: own.text).font(.system(size: own.size, weight: own.bold ? .bold : .regular))
                .foregroundStyle(own.ink.colour)
            context.draw(text, at: own.at.place, anchor: UnitPoint(x: own.before, y: Self.baseline))
        }
    }

    /// Where the letters of a line stand, as a share of its height.
    private static let baseline: CGFloat = 0.8
}

extension LeafturnCore.Path {
    fileprivate var drawn: SwiftUI.Path {
        var path = SwiftUI.Path()
        path.move(to: start.place)
        for step in steps {
            switch step {
            case .line(let to): path.addLine(to: to.place)
            case .cubic(let first, let second, let to): path.addCurve(to: to.place, control1: first.place, control2: second.place)
            case .close: path.closeSubpath()
            case .circle(let radius):
                path.addEllipse(in: CGRect(x: start.x - radius, y: start.y - radius, width: 2 * radius, height: 2 * radius))
            }
        }
        return path
    }
}

extension Point {
    fileprivate var place: CGPoint { CGPoint(x: x, y: y) }
}

extension Ink {
    fileprivate var colour: Color { Color(red: Double(red) / 255, green: Double(green) / 255, blue: Double(blue) / 255) }
}
