import Foundation
import LeafturnCore
import LeafturnModels
import SwiftUI

/// What a person sets: every press is kept at once, by the core.
struct SettingsView: View {
    @Environment(Desk.self) private var desk
    let look: Look

    var body: some View {
        if let shown = desk.settings.record {
            Page(look, shown.title) {
                Press(look, desk.word("phone.cautions"), tag: "cautions") { desk.go(.cautions) }.row()
                Press(look, desk.word("phone.practice"), tag: "practice") { desk.go(.practice) }.row()
                Press(look, desk.word("phone.mine"), tag: "mine") { desk.go(.mine) }.row()
                group("phone.hand", "hand", .hand, shown.hands)
                group("phone.language", "language", .language, shown.languages)
                group("phone.theme", "theme", .theme, shown.themes)
                group("phone.units", "units", .units, shown.units)
                Heading(look, desk.word("phone.counting"))
                ForEach(desk.settings.switches, id: \.name) { own in
                    ChoiceButton(look: look, text: own.label, tag: own.name, chosen: own.chosen, alone: false) {
                        desk.toggle(setting: own.name)
                    }
                }
                Press(look, desk.word("phone.licences"), tag: "licences") { desk.go(.licences) }.row()
            } foot: {
                Press(look, desk.word("phone.to-sites"), tag: "to-sites") { desk.goHome() }
            }
        } else {
            Waiting(look: look)
        }
    }

    @ViewBuilder private func group(_ asks: String, _ tag: String, _ group: LeafturnModels.Settings.Group, _ choices: [Choice]) -> some View
    {
        Heading(look, desk.word(asks))
        ForEach(choices, id: \.name) { own in
            ChoiceButton(look: look, text: own.label, tag: "\(tag)-\(own.name)", chosen: own.chosen) { desk.choose(own.name, group) }
        }
    }
}

/// What this phone holds of the person: to be seen, handed over, and deleted after a second, named confirmation.
struct MineView: View {
    @Environment(Desk.self) private var desk
    let look: Look

    var body: some View {
        if let shown = desk.own.mine {
            Page(look, shown.title) {
                ForEach(Array(shown.lines.enumerated()), id: \.offset) { Line(look, $0.element) }
                ForEach(shown.observers, id: \.name) { own in
                    Press(look, own.label, tag: "forget-\(own.name)") { desk.forget(observer: own.name) }.row(desk.word("phone.forget"))
                }
                Press(look, shown.export.text, spoken: shown.export.spoken, tag: "export") { desk.export() }.row()
                if desk.own.deleting {
                    Heading(look, shown.delete.text)
                    Line(look, shown.deleteLead)
                    Press(look, shown.delete.text, spoken: "\(shown.delete.spoken). \(shown.deleteLead)", tag: "delete-sure") {
                        desk.deleteEverything()
                    }.row()
                } else {
                    Press(look, shown.delete.text, spoken: shown.delete.spoken, tag: "delete") { desk.askToDelete() }.row()
                }
            } foot: {
                Press(look, desk.word("phone.to-sites"), tag: "to-sites") { desk.goHome() }.made(strong: true)
            }
        } else {
            Waiting(look: look)
        }
    }
}

/// Cards to be read before going out: sap and eyes first; and how hot it feels.
struct CautionsView: View {
    @Environment(Desk.self) private var desk
    let look: Look

    var body: some View {
        if let shown = desk.own.cautions {
            Page(look, shown.title) {
                QuietLine(look, shown.lead)
                ForEach(Array(shown.cards.enumerated()), id: \.offset) { card in
                    Heading(look, card.element.title)
                    Line(look, card.element.text)
                }
                Heading(look, shown.heatTitle)
                DeskEntry(look: look, label: shown.airLabel, field: .air, keys: .numbersAndPunctuation)
                DeskEntry(look: look, label: shown.humidityLabel, field: .humidity, keys: .numbersAndPunctuation)
                if let heat = desk.own.heat {
                    Heading(look, heat.index)
                    Line(look, heat.category)
                    ForEach(Array(heat.notes.enumerated()), id: \.offset) { QuietLine(look, $0.element) }
                }
            } foot: {
                Press(look, shown.heatTitle, tag: "heat") { desk.feelHeat() }
                Press(look, desk.word("phone.to-sites"), tag: "to-sites") { desk.goHome() }
            }
        } else {
            Waiting(look: look)
        }
    }
}

/// What the app is made of.
struct LicencesView: View {
    @Environment(Desk.self) private var desk
    let look: Look

    var body: some View {
        Page(look, desk.word("phone.licences")) {
            Line(look, desk.word("phone.licence"))
            ForEach(desk.own.licences, id: \.part) { own in
                // A name without a space may be broken behind its low lines.
                Line(look, own.part.replacingOccurrences(of: "_", with: "_\u{200B}"))
                QuietLine(look, own.licence)
            }
        } foot: {
            Press(look, desk.word("phone.to-sites"), tag: "to-sites") { desk.goHome() }
        }
    }
}
