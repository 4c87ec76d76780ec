import LeafturnCore
import LeafturnModels
import SwiftUI

/// Adding a site: its name, its place in one of four ways, and how finely that may be published.
struct AddSiteView: View {
    @Environment(Desk.self) private var desk
    let look: Look

    var body: some View {
        Page(look, desk.word("phone.add-site")) {
            DeskEntry(look: look, label: desk.word("phone.site-name"), field: .siteName)
            PlaceFields(look: look)
            DeskEntry(look: look, label: desk.word("phone.stems-expected"), field: .stems, keys: .numbersAndPunctuation)
            PrecisionChoices(look: look, choices: desk.own.precisions)
        } foot: {
            Press(look, desk.word("phone.save"), tag: "save") { desk.saveSite() }.made(strong: true)
        }
    }
}

/// One site: what is kept of it, and its visits.
struct SiteView: View {
    @Environment(Desk.self) private var desk
    let look: Look

    var body: some View {
        if let shown = desk.own.site {
            Page(look, shown.name.value) {
                Press(look, shown.season.text, spoken: shown.season.spoken, tag: "season") { desk.go(.season(shown.site)) }.row()
                ForEach(shown.visits, id: \.visit) { own in
                    Press(look, own.text, tag: "visit-\(own.visit)") { desk.takeInHand(own.visit) }.row()
                }
                Heading(look, desk.word("phone.site"))
                Line(look, shown.place)
                DeskEntry(look: look, label: shown.name.label, field: .siteName)
                PlaceFields(look: look)
                DeskEntry(look: look, label: shown.stems.label, field: .stems, keys: .numbersAndPunctuation)
                PrecisionChoices(look: look, choices: shown.precisions)
                Heading(look, desk.word("phone.land"))
                ForEach(shown.land, id: \.name) { own in
                    ChoiceButton(look: look, text: own.label, tag: "land-\(own.name)", chosen: desk.own.draft.land == own.name) {
                        desk.choose(land: own.name)
                    }
                }
                Heading(look, desk.word("phone.danaus"))
                ForEach(shown.otherDanaus, id: \.name) { own in
                    ChoiceButton(look: look, text: own.label, tag: "cousins-\(own.name)", chosen: desk.own.draft.cousins == own.name) {
                        desk.choose(cousins: own.name)
                    }
                }
            } foot: {
                Press(look, desk.word("phone.save"), tag: "save") { desk.saveSite() }.made(strong: true)
            }
        } else {
            Waiting(look: look)
        }
    }
}

/// Where it is: typed, stood upon, walked around, or from a file; and what that comes to.
private struct PlaceFields: View {
    @Environment(Desk.self) private var desk
    let look: Look

    var body: some View {
        let draft = desk.own.draft
        if let said = draft.said { Line(look, said) }
        DeskEntry(look: look, label: desk.word("phone.latitude"), field: .latitude, keys: .numbersAndPunctuation)
        DeskEntry(look: look, label: desk.word("phone.longitude"), field: .longitude, keys: .numbersAndPunctuation)
        Press(look, desk.word("phone.here"), tag: "here") { desk.here() }.row()
        Press(look, desk.word(draft.corners.isEmpty ? "phone.edge" : "phone.corner"), tag: "corner") { desk.corner() }.row()
        Press(look, desk.word("phone.from-file"), tag: "from-file") { desk.openFile() }.row()
        if let found = draft.found {
            ForEach(found.places, id: \.place) { own in
                ChoiceButton(
                    look: look, text: [own.name, own.text].filter { !$0.isEmpty }.joined(separator: ". "),
                    tag: "found-\(found.places.firstIndex(of: own) ?? 0)", chosen: draft.foundPlace == own.place
                ) { desk.take(own) }
            }
            if let refused = found.refused { QuietLine(look, refused) }
        }
    }
}

/// How finely a place may be published, each with what it means.
private struct PrecisionChoices: View {
    @Environment(Desk.self) private var desk
    let look: Look
    let choices: [PrecisionChoice]

    var body: some View {
        Heading(look, desk.word("phone.precision"))
        ForEach(choices, id: \.precision) { own in
            ChoiceButton(look: look, text: own.label, tag: "precision-\(own.precision)", chosen: desk.own.draft.precision == own.precision)
            {
                desk.choose(own.precision)
            }
            QuietLine(look, own.meaning)
        }
    }
}
