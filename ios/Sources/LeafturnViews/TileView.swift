import LeafturnCore
import LeafturnModels
import SwiftUI

/// What may be done with a tile.
public struct TileActs {
    let touched: @MainActor (Date) -> Void
    let lifted: @MainActor (Date, CGSize) -> Void
    let count: @MainActor () -> Void
    let uncount: @MainActor () -> Void

    public init(
        touched: @escaping @MainActor (Date) -> Void, lifted: @escaping @MainActor (Date, CGSize) -> Void,
        count: @escaping @MainActor () -> Void, uncount: @escaping @MainActor () -> Void
    ) {
        self.touched = touched
        self.lifted = lifted
        self.count = count
        self.uncount = uncount
    }

    /// Those of the model, for the tile that counts this.
    @MainActor public static func of(_ desk: Desk, _ what: String) -> TileActs {
        TileActs(
            touched: { desk.touch(what, at: $0) }, lifted: { desk.lift(what, at: $0, moved: $1) },
            count: { desk.count(what) }, uncount: { desk.uncount(what) })
    }
}

/// A counter: the whole of it counts one. It shows at once that it is pressed; its number changes when the core has
/// written the act. To a screen reader it is one adjustable element.
public struct TileView: View {
    let look: Look
    let tile: Tile
    let drawing: Drawing?
    let pressed: Bool
    let words: (addOne: String, takeBack: String)
    let acts: TileActs

    public init(look: Look, tile: Tile, drawing: Drawing?, pressed: Bool, words: (addOne: String, takeBack: String), acts: TileActs) {
        self.look = look
        self.tile = tile
        self.drawing = drawing
        self.pressed = pressed
        self.words = words
        self.acts = acts
    }

    public var body: some View {
        VStack(spacing: 0) {
            HStack(spacing: Look.gap / 2) {
                if let drawing {
                    SpecimenView(drawing: drawing)
                        .background { RoundedRectangle(cornerRadius: Look.gap / 2).fill(Color.white) }
                        .frame(minWidth: 0, maxWidth: .infinity, minHeight: 0, maxHeight: .infinity)
                }
                Text(verbatim: tile.value).font(.largeTitle.bold().monospacedDigit()).lineLimit(1).minimumScaleFactor(0.4)
                    .frame(minWidth: 0, maxWidth: .infinity, minHeight: 0, maxHeight: .infinity)
            }
            // The number matters more than its name: a larger name would leave it no room.
            Text(verbatim: tile.label).font(.callout).lineLimit(1).minimumScaleFactor(0.5).dynamicTypeSize(...DynamicTypeSize.xLarge)
            // A bar that says: there are animals in other states, which "more" and the review name.
            if !tile.others.isEmpty { Rectangle().fill(look.ink).frame(height: Look.edgeWidth) }
        }
        .foregroundStyle(look.ink)
        .padding(Look.gap)
        .frame(minWidth: Look.target, maxWidth: .infinity, minHeight: Look.target, maxHeight: .infinity)
        .background { Box(look: look, pressed: pressed) }
        .contentShape(Rectangle())
        .gesture(
            DragGesture(minimumDistance: 0)
                .onChanged { acts.touched($0.time) }
                .onEnded { acts.lifted($0.time, $0.translation) }
        )
        .accessibilityElement(children: .ignore)
        .accessibilityLabel(Text(verbatim: tile.label))
        .accessibilityValue(Text(verbatim: [tile.value, tile.others].filter { !$0.isEmpty }.joined(separator: ", ")))
        .accessibilityAddTraits(.isButton)
        .accessibilityAction { acts.count() }
        .accessibilityAdjustableAction { direction in
            switch direction {
            case .increment: acts.count()
            case .decrement: acts.uncount()
            @unknown default: break
            }
        }
        .accessibilityAction(named: Text(verbatim: words.addOne)) { acts.count() }
        .accessibilityAction(named: Text(verbatim: words.takeBack)) { acts.uncount() }
        .accessibilityIdentifier("tile-\(tile.what)")
    }
}

/// Paints a drawing of the core, as large as fits, in the middle.
struct SpecimenView: View {
    let drawing: Drawing

    var body: some View {
        Canvas { context, size in
            let scale = min(size.width / CGFloat(drawing.width), size.height / CGFloat(drawing.height))
            context.translateBy(
                x: (size.width - CGFloat(drawing.width) * scale) / 2, y: (size.height - CGFloat(drawing.height) * scale) / 2)
            context.scaleBy(x: scale, y: scale)
            for own in drawing.paths {
                let path = Self.path(own)
                if let fill = own.fill { context.fill(path, with: .color(fill.colour)) }
                if let line = own.line {
                    let style = StrokeStyle(lineWidth: own.width, lineCap: .round, lineJoin: .round, dash: own.dashes.map { CGFloat($0) })
                    context.stroke(path, with: .color(line.colour), style: style)
                }
            }
        }
        .accessibilityHidden(true)
    }

    private static func path(_ own: LeafturnCore.Path) -> SwiftUI.Path {
        var path = SwiftUI.Path()
        path.move(to: own.start.place)
        for step in own.steps {
            switch step {
            case .line(let to): path.addLine(to: to.place)
            case .cubic(let first, let second, let to): path.addCurve(to: to.place, control1: first.place, control2: second.place)
            case .close: path.closeSubpath()
            case .circle(let radius):
                path.addEllipse(in: CGRect(x: own.start.x - radius, y: own.start.y - radius, width: 2 * radius, height: 2 * radius))
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
