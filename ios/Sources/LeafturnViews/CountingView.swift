import LeafturnCore
import LeafturnModels
import SwiftUI

/// The heart: a tile for each stage in scope, "empty", "next plant", "not sure" and undo, all in the lower two thirds and
/// never moving; beside the head where the phone lies on its side.
struct CountingView: View {
    @Environment(Desk.self) private var desk
    let look: Look

    var body: some View {
        if let shown = desk.counting {
            if shown.open {
                GeometryReader { room in
                    if room.size.width > room.size.height {
                        HStack(spacing: 0) {
                            CountingHead(look: look, shown: shown).frame(width: room.size.width / 3)
                            Pad(look: look, shown: shown, wide: true)
                        }
                        .frame(width: room.size.width, height: room.size.height)
                    } else {
                        VStack(spacing: 0) {
                            CountingHead(look: look, shown: shown).frame(height: Self.head(room.size.height))
                            Pad(look: look, shown: shown, wide: false)
                        }
                        .frame(width: room.size.width, height: room.size.height)
                    }
                }
                .background(look.paper)
                .navigationBarTitleDisplayMode(.inline)
                .focusable()
                .focusEffectDisabled()
                .onKeyPress(phases: .down) { desk.key($0.key.character) ? .handled : .ignored }
                .onAppear { desk.draw(shown.tiles.map(\.drawing)) }
            } else {
                HostsView(look: look)
            }
        } else {
            Waiting(look: look)
        }
    }

    /// With the bars above it the head has the upper third of the screen.
    private static func head(_ height: CGFloat) -> CGFloat { max(height * 0.28, 0) }
}

/// Which plant, of what, and how far.
private struct CountingHead: View {
    let look: Look
    let shown: CountingScreen

    var body: some View {
        VStack(alignment: .leading, spacing: 2) {
            Text(verbatim: shown.title).font(.title.bold()).accessibilityAddTraits(.isHeader).accessibilityIdentifier("title")
            Text(verbatim: shown.subtitle).font(.callout)
            Text(verbatim: shown.progress).font(.callout).foregroundStyle(look.quiet)
        }
        .minimumScaleFactor(0.5)
        .lineLimit(2)
        .foregroundStyle(look.ink)
        .padding(.horizontal, Look.margin)
        .frame(minWidth: 0, maxWidth: .infinity, minHeight: 0, maxHeight: .infinity, alignment: .leading)
        .overlay(alignment: .top) { NoticeView(look: look) }
    }
}

/// The rows of targets. What is used most lies under the thumb; stages keep their order.
private struct Pad: View {
    @Environment(Desk.self) private var desk
    let look: Look
    let shown: CountingScreen
    /// The phone lies on its side: fewer rows, each of more targets.
    let wide: Bool

    var body: some View {
        VStack(spacing: Look.gap) {
            if let first = shown.tiles.first {
                HStack(spacing: Look.gap) {
                    if wide && left { undecided.frame(width: Look.target * 2) }
                    tile(first)
                    if wide && !left { undecided.frame(width: Look.target * 2) }
                }
            }
            ForEach(rows, id: \.id) { row in
                HStack(spacing: Look.gap) {
                    if row.undecided && left { undecided }
                    ForEach(row.tiles, id: \.what) { tile($0) }
                    if row.undecided && !left { undecided }
                }
            }
            HStack(spacing: Look.gap) {
                if left { next }
                Press(look, desk.word("phone.empty"), spoken: desk.word("phone.empty-spoken"), tag: "empty") { desk.empty() }
                    .filling().made(enabled: shown.empty != nil)
                if !left { next }
            }
            HStack(spacing: Look.gap) {
                if left { more; key }
                Press(look, shown.takeBack?.text ?? desk.word("phone.undo-nothing"), spoken: shown.takeBack?.spoken, tag: "take-back") {
                    desk.takeBack()
                }
                .filling().made(enabled: shown.takeBack != nil)
                if !left { key; more }
            }
        }
        .padding(.horizontal, Look.gap)
        .padding(.bottom, Look.gap)
        .frame(minWidth: 0, maxWidth: .infinity, minHeight: 0, maxHeight: .infinity)
    }

    private struct Row {
        let id: Int
        let tiles: [Tile]
        let undecided: Bool
    }

    /// All tiles but the first, three to a row; "not sure" has the first free place. On its side, all of them in one row.
    private var rows: [Row] {
        let others = Array(shown.tiles.dropFirst())
        guard !wide else { return [Row(id: 0, tiles: others, undecided: false)] }
        let columns = 3
        return stride(from: 0, through: others.count, by: columns).map { start in
            let tiles = Array(others[start..<min(start + columns, others.count)])
            return Row(id: start, tiles: tiles, undecided: tiles.count < columns)
        }
    }

    private var left: Bool { desk.settings.hand == .left }

    private func tile(_ own: Tile) -> some View {
        TileView(
            look: look, tile: own, drawing: desk.drawing(own.drawing), pressed: desk.touches.pressed.contains(own.what),
            words: (desk.word("phone.add-one"), desk.word("phone.take-back-short")), acts: .of(desk, own.what))
    }

    private var undecided: some View {
        let counted = shown.undecided.filter { $0.number > 0 }.map(\.announcement)
        return Press(
            look, desk.word("phone.undecided"), spoken: ([desk.word("phone.undecided")] + counted).joined(separator: ". "), tag: "undecided"
        ) { desk.go(.undecided) }.filling()
    }

    private var next: some View {
        Press(look, desk.word("phone.next"), spoken: desk.word("phone.next-spoken"), tag: "next") { desk.next() }
            .filling().made(strong: true)
    }

    private var more: some View {
        Press(look, desk.word("phone.more"), tag: "more") { desk.go(.more) }.filling()
            .frame(width: Look.target * 1.25)
    }

    private var key: some View {
        Press(look, "?", spoken: desk.word("phone.key"), tag: "key") { desk.openKey() }.filling().frame(width: Look.target)
    }
}
