import LeafturnCore
import LeafturnModels
import SwiftUI

/// The second tap of an undecided count: which of these may it be? {egg, not an egg} comes first.
struct UndecidedView: View {
    @Environment(Desk.self) private var desk
    let look: Look

    var body: some View {
        Page(look, desk.word("phone.undecided-title")) {
            ForEach(desk.counting?.undecided ?? [], id: \.what) { own in
                Press(look, own.label, tag: "undecided-\(own.what)") { desk.countAside(own.what) }.row(own.number > 0 ? own.value : nil)
            }
        } foot: {
            UndoFoot(look: look)
        }
    }
}

/// An animal in another state than alive: one deliberate act, out of the way of the tiles.
struct StatesView: View {
    @Environment(Desk.self) private var desk
    let look: Look

    var body: some View {
        Page(look, desk.word("phone.state-title")) {
            ForEach(desk.counting?.states ?? [], id: \.label) { own in
                Press(look, own.label, tag: "state-\(own.what)-\(own.state)") { desk.count(own.what, in: own.state) }.row()
            }
        } foot: {
            UndoFoot(look: look)
        }
    }
}

/// Which milkweed it is: for the first plant, after one that was not searched whole, or to correct.
struct HostsView: View {
    @Environment(Desk.self) private var desk
    let look: Look

    var body: some View {
        if let shown = desk.counting {
            Page(look, shown.title) {
                if !shown.progress.isEmpty { QuietLine(look, shown.progress) }
                if !shown.ended {
                    ForEach(shown.hosts, id: \.host) { own in
                        Press(look, own.label, tag: "host-\(own.host)") { desk.choose(host: own.host) }.row()
                    }
                }
            } foot: {
                UndoFoot(look: look)
                Press(look, desk.word("phone.to-review"), tag: "review") { desk.go(.review) }
            }
        } else {
            Waiting(look: look)
        }
    }
}

/// What else can be done while counting.
struct MoreView: View {
    @Environment(Desk.self) private var desk
    let look: Look

    var body: some View {
        if let shown = desk.counting {
            Page(look, shown.title) {
                ForEach(shown.tiles.filter { !$0.others.isEmpty }, id: \.what) { QuietLine(look, "\($0.label) – \($0.others)") }
                if !shown.others.isEmpty { QuietLine(look, shown.others) }
                if let asked = shown.photoAsked {
                    Line(look, asked.text)
                    Press(look, desk.word("phone.photo"), tag: "photo") { desk.photograph() }.row()
                }
                Press(look, desk.word("phone.state"), tag: "states") { desk.go(.states) }.row()
                Press(look, desk.word("phone.details"), tag: "details") { desk.go(.details(check: nil)) }.row()
                Press(look, desk.word("phone.change-host"), tag: "hosts") { desk.go(.hosts) }.row()
                Press(look, desk.word("phone.part"), tag: "in-part") { desk.closeInPart() }.row()
                Press(look, desk.word("phone.refused"), tag: "unsearched") { desk.closeUnsearched() }.row()
                if let redo = shown.redo { Press(look, redo.text, spoken: redo.spoken, tag: "redo") { desk.redo() }.row() }
                Press(look, desk.word("phone.outside"), tag: "outside") { desk.go(.outside(site: shown.site)) }.row()
                Press(look, desk.word("phone.advice"), tag: "advice") { desk.go(.advice) }.row()
                Press(look, desk.word("phone.weather"), tag: "weather") { desk.go(.weather) }.row()
                Press(look, desk.word("phone.notes"), tag: "notes") { desk.go(.notes) }.row()
                Press(look, desk.word("phone.visit"), tag: "visit") { desk.go(.visit) }.row()
            } foot: {
                UndoFoot(look: look)
                Press(look, desk.word("phone.to-review"), tag: "review") { desk.go(.review) }
            }
        } else {
            Waiting(look: look)
        }
    }
}

/// Undo with what it would undo: on every screen of counting, at the same place.
struct UndoFoot: View {
    @Environment(Desk.self) private var desk
    let look: Look

    var body: some View {
        let label = desk.counting?.takeBack
        Press(look, label?.text ?? desk.word("phone.undo-nothing"), spoken: label?.spoken, tag: "take-back") { desk.takeBackAside() }
            .made(enabled: label != nil)
    }
}
