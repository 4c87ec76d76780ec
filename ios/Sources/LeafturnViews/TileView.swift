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
