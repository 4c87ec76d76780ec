import LeafturnCore
import LeafturnModels
import SwiftUI

/// What waits, what went, and why not.
struct SendingView: View {
    @Environment(Desk.self) private var desk
    let look: Look

    var body: some View {
        if let shown = desk.sending {
            Page(look, shown.title) {
                Heading(look, desk.busy ? desk.word("phone.sending") : shown.headline)
                ForEach(Array(shown.lines.enumerated()), id: \.offset) { Line(look, $0.element) }
                Press(look, desk.word("phone.join"), tag: "join") { desk.go(.join) }.row()
                Press(look, desk.word("phone.export"), tag: "export") { desk.export() }.row()
            } foot: {
                Press(look, desk.word("phone.to-sites"), tag: "to-sites") { desk.goHome() }
                if shown.joined && !desk.busy {
                    Press(look, desk.word("phone.send-now"), tag: "send-now") { desk.sendNow() }.made(strong: true)
                }
            }
        } else {
            Waiting(look: look)
        }
    }
}

/// Joining by an invitation, scanned or typed; it can be skipped, and done again.
struct JoinView: View {
    @Environment(Desk.self) private var desk
    let look: Look

    var body: some View {
        if let shown = desk.own.join {
            Page(look, shown.title) {
                QuietLine(look, shown.lead)
                Press(look, desk.word("phone.scan"), tag: "scan") { desk.scan() }.row()
                DeskEntry(look: look, label: shown.addressLabel, field: .station, keys: .URL, capitals: .never)
                DeskEntry(look: look, label: shown.codeLabel, field: .code, keys: .asciiCapable, capitals: .characters)
            } foot: {
                Press(look, shown.title, tag: "join-now") { desk.join() }.made(strong: true)
            }
        } else {
            Waiting(look: look)
        }
    }
}
