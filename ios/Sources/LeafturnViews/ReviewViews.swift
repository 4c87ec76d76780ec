import LeafturnCore
import LeafturnModels
import SwiftUI

/// The visit looked over: totals, what looks odd and where that is, plant by plant; then its end, which can be taken back.
struct ReviewView: View {
    @Environment(Desk.self) private var desk
    let look: Look

    var body: some View {
        if let shown = desk.review {
            Page(look, desk.sheets.closing?.title ?? shown.title) {
                if let closing = desk.sheets.closing {
                    ForEach(Array(closing.lines.enumerated()), id: \.offset) { Line(look, $0.element) }
                }
                Line(look, shown.site)
                ForEach(Array(shown.totals.enumerated()), id: \.offset) { Line(look, $0.element) }
                QuietLine(look, shown.weather)
                Heading(look, desk.word("phone.findings"))
                if let nothing = shown.nothingOdd { Line(look, nothing) }
                ForEach(Array(shown.findings.enumerated()), id: \.offset) { own in
                    if let place = desk.place(of: own.offset) {
                        Press(look, own.element, tag: "finding-\(own.offset)") { desk.go(place) }.row()
                    } else {
                        Line(look, own.element)
                    }
                }
                Press(look, desk.word("phone.match"), tag: "matching") { desk.go(.matching) }.row()
                Heading(look, desk.word("phone.plants"))
                ForEach(shown.rows, id: \.check) { row in
                    Press(look, row.plant, tag: "plant-\(row.check)") { desk.go(.details(check: row.check)) }
                        .row(([row.found] + row.findings.map { shown.findings[Int($0)] }).joined(separator: ". "))
                }
            } foot: {
                if shown.ended {
                    if let back = shown.takeBack { Press(look, back.text, spoken: back.spoken, tag: "take-back") { desk.takeBackEnd() } }
                    Press(look, desk.word("phone.to-sites"), tag: "to-sites") { desk.goHome() }
                    Press(look, desk.word("phone.send"), tag: "sending") { desk.go(.sending) }.made(strong: true)
                } else {
                    Press(look, desk.word("phone.end"), tag: "end") { desk.endVisit() }
                    Press(look, desk.word("phone.back-to-counting"), tag: "counting") { desk.backToCounting() }.made(strong: true)
                }
            }
        } else {
            Waiting(look: look)
        }
    }
}

/// Plants that two phones looked at, each for itself: how many of a stage did both see?
struct MatchingView: View {
    @Environment(Desk.self) private var desk
    let look: Look

    var body: some View {
        if let shown = desk.sheets.matching {
            Page(look, shown.title) {
                Line(look, shown.none ?? shown.lead)
                ForEach(Array(shown.pairs.enumerated()), id: \.offset) { own in
                    PairView(look: look, pair: own.element, place: own.offset)
                }
            } foot: {
                UndoWhileCounting(look: look)
                Press(look, desk.word("phone.to-review"), tag: "review") { desk.backToReview() }.made(strong: true)
            }
        } else {
            Waiting(look: look)
        }
    }
}

private struct PairView: View {
    @Environment(Desk.self) private var desk
    let look: Look
    let pair: MatchPair
    let place: Int

    var body: some View {
        Heading(look, pair.title)
        if let waits = pair.waits { Line(look, waits) }
        ForEach(pair.rows, id: \.what) { row in
            BothView(look: look, row: row, number: desk.both(pair, row), tag: "\(place)-\(row.what)", words: words) {
                desk.change(pair, row, by: $0)
            }
        }
        if !pair.rows.isEmpty {
            Press(look, desk.word("phone.save"), spoken: "\(desk.word("phone.save")). \(pair.title)", tag: "save-\(place)") {
                desk.saveMatch(pair)
            }
            .made(enabled: pair.waits == nil && pair.rows.contains { desk.both(pair, $0) != nil })
        }
        Press(look, pair.same.text, spoken: "\(pair.same.spoken). \(pair.title)", tag: "same-\(place)") { desk.samePlant(pair) }.row()
        Press(look, pair.different.text, spoken: "\(pair.different.spoken). \(pair.title)", tag: "different-\(place)") {
            desk.differentPlants(pair)
        }.row()
    }

    private var words: (more: String, fewer: String) { (desk.word("phone.add-one"), desk.word("phone.take-back-short")) }
}

/// How many of one stage both saw: between two buttons, and one adjustable element to a screen reader.
public struct BothView: View {
    let look: Look
    let row: MatchRow
    let number: Int?
    let tag: String
    let words: (more: String, fewer: String)
    let step: @MainActor (Int) -> Void

    public init(
        look: Look, row: MatchRow, number: Int?, tag: String, words: (more: String, fewer: String), step: @escaping @MainActor (Int) -> Void
    ) {
        self.look = look
        self.row = row
        self.number = number
        self.tag = tag
        self.words = words
        self.step = step
    }

    public var body: some View {
        Text(verbatim: row.label).font(.body.bold()).foregroundStyle(look.ink).frame(maxWidth: .infinity, alignment: .leading)
            .accessibilityHidden(true)
        QuietLine(look, row.counted).accessibilityHidden(true)
        HStack(spacing: Look.gap) {
            Press(look, "−", spoken: "\(words.fewer). \(row.label)", tag: "fewer-\(tag)") { step(-1) }.filling()
                .made(enabled: (number ?? 0) > 0).frame(width: Look.target, height: Look.target)
            Text(verbatim: written ?? "–").font(.title.bold().monospacedDigit()).lineLimit(1).minimumScaleFactor(0.4)
                .foregroundStyle(look.ink)
                .frame(minWidth: Look.target, maxWidth: .infinity, minHeight: Look.target)
                .accessibilityElement(children: .ignore)
                .accessibilityLabel(Text(verbatim: row.label))
                .accessibilityValue(Text(verbatim: [written, row.counted].compactMap { $0 }.joined(separator: ". ")))
                .accessibilityAdjustableAction { direction in
                    switch direction {
                    case .increment: step(1)
                    case .decrement: step(-1)
                    @unknown default: break
                    }
                }
                .accessibilityIdentifier("both-\(tag)")
            Press(look, "+", spoken: "\(words.more). \(row.label)", tag: "more-\(tag)") { step(1) }.filling()
                .made(enabled: (number ?? -1) < row.numbers.count - 1).frame(width: Look.target, height: Look.target)
        }
    }

    private var written: String? { number.flatMap { row.numbers.indices.contains($0) ? row.numbers[$0] : nil } }
}
