import Foundation
import LeafturnCore
import LeafturnModels
import LeafturnViews
import SwiftUI
import Walking
import XCTest

/// Views with one mistake each, planted by hand: the walk over the screen, or the pressing of it, names every one.
final class WrongTests: XCTestCase {
    /// A pad as it could have been written: right, but for its mistake.
    private struct Pad: View {
        let desk: Desk
        let mistake: Mistake

        private let look = Look.light
        private func word(_ id: String) -> String { desk.word(id) }

        var body: some View {
            VStack(spacing: mistake == .tooClose ? 2 : Look.gap) {
                Text(verbatim: desk.counting?.title ?? "").font(.title.bold()).foregroundStyle(
                    mistake == .paleText ? Color(red: 0.6, green: 0.6, blue: 0.6) : look.ink
                )
                .frame(minHeight: mistake == .padTooHigh ? 0 : 260)
                if mistake == .ownWords { Text(verbatim: "\(desk.counting?.tiles.first?.number ?? 0) eggs").foregroundStyle(look.ink) }
                ForEach(desk.counting?.tiles.prefix(3) ?? [], id: \.what) { tile($0) }
                if mistake != .noUndo {
                    undo
                    if mistake == .undoTwice { undo }
                }
                if mistake == .deadButton {
                    Press(look, word("phone.more"), tag: "more") {}
                } else {
                    Press(look, word("phone.more"), tag: "more") { desk.go(.more) }
                }
                if mistake == .cutText {
                    Text(verbatim: word("phone.empty-spoken")).font(.largeTitle).lineLimit(1).foregroundStyle(look.ink).frame(width: 100)
                }
            }
            .padding(.horizontal, mistake == .offScreen ? -80 : Look.gap)
        }

        @ViewBuilder private var undo: some View {
            let label = mistake == .vagueUndo ? word("phone.take-back-short") : desk.counting?.takeBack?.text ?? word("phone.undo-nothing")
            Press(look, label, tag: "take-back") { desk.takeBack() }.made(enabled: mistake != .undoStuck && desk.counting?.takeBack != nil)
        }

        @ViewBuilder private func tile(_ own: Tile) -> some View {
            let counts = mistake == .swappedTiles ? (own.what == "egg" ? "larva1" : "egg") : own.what
            let acts = TileActs(
                touched: { desk.touch(counts, at: $0) }, lifted: { desk.lift(counts, at: $0, moved: $1) },
                count: { mistake == .adjustsDown ? desk.uncount(counts) : desk.count(counts) },
                uncount: { mistake == .adjustsDown ? desk.count(counts) : desk.uncount(counts) })
            let shown = mistake == .staleNumber ? own.with(value: "7") : mistake == .namelessTile ? own.with(label: "") : own
            let view = TileView(
                look: look, tile: shown, drawing: nil, pressed: false, words: (word("phone.add-one"), word("phone.take-back-short")),
                acts: acts)
            switch mistake {
            case .smallTile:
                Button(action: { desk.count(own.what) }) {
                    Text(verbatim: own.label).foregroundStyle(look.ink).frame(width: 48, height: 48)
                }
                .accessibilityIdentifier("tile-\(own.what)")
            case .mute: Button(action: { desk.count(own.what) }) { Text(verbatim: own.label) }.accessibilityIdentifier("tile-\(own.what)")
            case .hiddenTile: view.accessibilityHidden(own.what == "egg")
            default: view
            }
        }
    }

    private enum Mistake: String, CaseIterable {
        case none, tooClose, paleText, padTooHigh, ownWords, noUndo, undoTwice, vagueUndo, undoStuck, deadButton, cutText, offScreen,
            swappedTiles,
            adjustsDown, staleNumber, namelessTile, smallTile, mute, hiddenTile
    }

    /// What names each of them.
    private static let names: [Mistake: String] = [
        .tooClose: "too close", .paleText: "has a contrast of", .padTooHigh: "where the thumb does not reach",
        .ownWords: "is not the core's",
        .noUndo: "there is no undo", .undoTwice: "take-back is there twice", .vagueUndo: "undo does not say what it takes back",
        .undoStuck: "undo does not say what it takes back", .deadButton: "more does nothing", .cutText: "is cut",
        .offScreen: "lies outside the screen", .swappedTiles: "miscounts by touch", .adjustsDown: "miscounts by adjusting",
        .staleNumber: "shows 7 for", .namelessTile: "says nothing to a screen reader", .smallTile: "at least 64 is wanted",
        .mute: "cannot be adjusted",
        .hiddenTile: "no tile for egg",
    ]

    @MainActor func testEveryPlantedMistakeIsNamed() async throws {
        var noticed = 0
        for mistake in Mistake.allCases {
            let found = try await faults(mistake)
            if let name = Self.names[mistake] {
                let named = found.contains { $0.contains(name) }
                XCTAssertTrue(named, "\(mistake.rawValue) was not noticed: \(found)")
                noticed += named ? 1 : 0
            } else {
                XCTAssertEqual(found, [], "the view without a mistake")
            }
        }
        XCTAssertGreaterThanOrEqual(Self.names.count, 12)
        print("measured: \(noticed) of \(Self.names.count) planted mistakes noticed")
    }

    @MainActor private func faults(_ mistake: Mistake) async throws -> [String] {
        let walk = Walk(folder: try scratch("wrong-\(mistake.rawValue)")) { desk in
            { values in Node.tree(of: Pad(desk: desk, mistake: mistake).environment(desk), in: values) }
        }
        try await walk.begin()
        _ = try await walk.put { core in
            try Scene.visit(core, try Scene.site(core))
            return try core.openPlant(host: Scene.host)
        }
        try await walk.show([.counting])
        walk.desk.count("egg")
        try await walk.settle()
        let inspector = Inspector(walk)
        var found = inspector.faults()
        found += try await inspector.dead()
        try await walk.show([.counting])
        found += try await inspector.wiring(["egg", "larva1"])
        try await walk.leave()
        return found
    }

    /// Two fields that are bound the wrong way round are found by typing.
    @MainActor func testSwappedBindingsAreNoticed() async throws {
        struct Wrong: View {
            let desk: Desk
            var body: some View {
                VStack {
                    TextField(text: Binding(get: { desk.typed[.code] ?? "" }, set: { desk.type($0, into: .station) })) {
                        Text(verbatim: "a")
                    }
                    .accessibilityIdentifier("field-station")
                }
            }
        }
        let right = Walk(folder: try scratch("bound"))
        try await right.begin()
        for (path, fields) in [([Place.addSite], [Field.siteName, .latitude, .longitude]), ([.sending, .join], [.station, .code])] {
            try await right.show(path)
            for field in fields { try right.type("field-\(field.rawValue)", "typed into \(field.rawValue)") }
            for field in fields {
                XCTAssertEqual(right.desk.typed[field], "typed into \(field.rawValue)")
                XCTAssertEqual(try right.find("field-\(field.rawValue)").value, "typed into \(field.rawValue)")
            }
        }
        try await right.leave()
        let wrong = Walk(folder: try scratch("swapped")) { desk in { Node.tree(of: Wrong(desk: desk), in: $0) } }
        try wrong.type("field-station", "typed")
        XCTAssertNotEqual(try wrong.find("field-station").value, "typed")
    }
}

extension Tile {
    fileprivate func with(label: String? = nil, value: String? = nil) -> Tile {
        Tile(
            what: what, drawing: drawing, label: label ?? self.label, number: number, value: value ?? self.value, others: others,
            announcement: announcement)
    }
}
