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

/// Joining by the code of an invitation; it can be skipped, and done again.
struct JoinView: View {
    @Environment(Desk.self) private var desk
    let look: Look

    var body: some View {
        Page(look, desk.word("phone.join")) {
            Entry(look: look, label: desk.word("phone.address"), field: .station, keys: .URL, capitals: .never)
            Entry(look: look, label: desk.word("phone.code"), field: .code, keys: .asciiCapable, capitals: .characters)
        } foot: {
            Press(look, desk.word("phone.join"), tag: "join-now") { desk.join() }.made(strong: true)
        }
    }
}

/// What a person sets. Every press writes the setting and draws everything again.
struct SettingsView: View {
    @Environment(Desk.self) private var desk
    let look: Look

    var body: some View {
        // Settings live outside; this is what tells SwiftUI that they changed.
        let _ = desk.dressed
        Page(look, desk.word("phone.settings")) {
            Press(look, desk.word("phone.cautions"), tag: "cautions") { desk.go(.cautions) }.row()
            Heading(look, desk.word("phone.hand"))
            ForEach(Hand.allCases, id: \.self) { own in
                ChoiceButton(
                    look: look, text: desk.word("phone.hand.\(own.rawValue)"), tag: "hand-\(own.rawValue)",
                    chosen: desk.settings.hand == own
                ) {
                    desk.change { $0.hand = own }
                }
            }
            Heading(look, desk.word("phone.language"))
            ForEach(Self.languages, id: \.tag) { own in
                ChoiceButton(look: look, text: own.name, tag: "language-\(own.tag)", chosen: desk.settings.language.hasPrefix(own.tag)) {
                    desk.change { $0.language = own.tag }
                }
            }
            Heading(look, desk.word("phone.theme"))
            ForEach(Theme.allCases, id: \.self) { own in
                ChoiceButton(
                    look: look, text: desk.word("phone.theme.\(own.rawValue)"), tag: "theme-\(own.rawValue)",
                    chosen: desk.settings.theme == own
                ) {
                    desk.change { $0.theme = own }
                }
            }
            Heading(look, desk.word("phone.counting"))
            ChoiceButton(look: look, text: desk.word("phone.buzz"), tag: "buzz", chosen: desk.settings.buzz, alone: false) {
                desk.change { $0.buzz.toggle() }
            }
            Heading(look, desk.word("phone.licences"))
            QuietLine(look, desk.word("phone.licence"))
        } foot: {
            Press(look, desk.word("phone.to-sites"), tag: "to-sites") { desk.goHome() }
        }
    }

    private struct Language {
        let tag: String
        let name: String
    }

    /// Each by the name that its speakers give it.
    private static let languages: [Language] = [
        Language(tag: "en", name: "English"), Language(tag: "es", name: "Español"), Language(tag: "fr", name: "Français"),
    ]
}

/// Cards to be read before going out: sap and eyes first.
struct CautionsView: View {
    @Environment(Desk.self) private var desk
    let look: Look

    var body: some View {
        Page(look, desk.word("phone.cautions")) {
            ForEach(Self.cards, id: \.self) { own in
                Heading(look, desk.word("cautions.\(own)-title"))
                Line(look, desk.word("cautions.\(own)"))
            }
        } foot: {
            Press(look, desk.word("phone.to-sites"), tag: "to-sites") { desk.goHome() }
        }
    }

    private static let cards = ["sap", "heat", "ticks", "roads", "permission", "animals"]
}
