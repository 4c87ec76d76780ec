import LeafturnCore
import LeafturnModels
import SwiftUI

/// What is said of a plant beside its counts: nothing of it has to be.
struct DetailsView: View {
    @Environment(Desk.self) private var desk
    let look: Look

    var body: some View {
        if let shown = desk.sheets.details {
            Page(look, shown.title) {
                Press(look, shown.photo.text, spoken: shown.photo.spoken, tag: "photo-of-plant") { desk.photographPlant() }
                    .row()
                FormEntry(look: look, form: .details, field: "height", label: shown.height.label, keys: .decimalPad)
                if let stems = shown.stems {
                    FormEntry(look: look, form: .details, field: "stems", label: stems.label, keys: .decimalPad)
                }
                FormChoices(look: look, form: .details, field: "condition", asks: desk.word("phone.condition"), choices: shown.condition)
                FormChoices(
                    look: look, form: .details, field: "growth", asks: desk.word("phone.growth"), choices: shown.growth, several: true)
                FormChoices(look: look, form: .details, field: "fate", asks: desk.word("phone.fate"), choices: shown.fate)
                FormChoices(look: look, form: .details, field: "flowers", asks: desk.word("phone.flowers"), choices: shown.flowers)
                ForEach(shown.company, id: \.who) { own in
                    FormChoices(look: look, form: .details, field: "company-\(own.who)", asks: own.label, choices: own.classes)
                }
            } foot: {
                UndoWhileCounting(look: look)
                Press(look, desk.word("phone.save"), tag: "save") { desk.saveDetails() }.made(strong: true)
            }
        } else {
            Waiting(look: look)
        }
    }
}

/// The weather in words, as it is felt: nothing has to be measured.
struct WeatherView: View {
    @Environment(Desk.self) private var desk
    let look: Look

    var body: some View {
        if let shown = desk.sheets.weather {
            Page(look, shown.title) {
                QuietLine(look, shown.said)
                FormChoices(look: look, form: .weather, field: "cloud", asks: desk.word("phone.cloud"), choices: shown.cloud)
                FormChoices(look: look, form: .weather, field: "wind", asks: desk.word("phone.wind"), choices: shown.wind)
                FormChoices(look: look, form: .weather, field: "rain", asks: desk.word("phone.rain"), choices: shown.rain)
                FormEntry(look: look, form: .weather, field: "air", label: shown.air.label, keys: .numbersAndPunctuation)
            } foot: {
                UndoWhileCounting(look: look)
                Press(look, desk.word("phone.save"), tag: "save") { desk.saveWeather() }.made(strong: true)
            }
        } else {
            Waiting(look: look)
        }
    }
}

/// The visit as a whole: whether milkweed was up at all, minutes of search, the code for a second phone.
struct VisitView: View {
    @Environment(Desk.self) private var desk
    let look: Look

    var body: some View {
        if let shown = desk.sheets.visit {
            Page(look, shown.title) {
                Line(look, shown.begun)
                ForEach(Array(shown.observers.enumerated()), id: \.offset) { Line(look, $0.element) }
                QuietLine(look, shown.weather)
                FormChoices(look: look, form: .visit, field: "hosts-up", asks: desk.word("phone.hosts-up"), choices: shown.hostsUp)
                FormEntry(look: look, form: .visit, field: "minutes", label: shown.minutes.label, keys: .decimalPad)
                QuietLine(look, shown.code)
                FormEntry(look: look, form: .visit, field: "beside", label: desk.word("phone.beside"), keys: .asciiCapable)
                Press(look, desk.word("phone.add"), spoken: "\(desk.word("phone.add")). \(desk.word("phone.beside"))", tag: "link") {
                    desk.linkVisit()
                }.row()
            } foot: {
                UndoWhileCounting(look: look)
                Press(look, desk.word("phone.save"), tag: "save") { desk.saveVisit() }.made(strong: true)
            }
        } else {
            Waiting(look: look)
        }
    }
}

/// Notes in the person's own words, each of which can be erased.
struct NotesView: View {
    @Environment(Desk.self) private var desk
    let look: Look

    var body: some View {
        if let shown = desk.sheets.notes {
            Page(look, shown.title) {
                QuietLine(look, shown.lead)
                ForEach(shown.notes, id: \.note) { own in
                    QuietLine(look, own.day)
                    Line(look, own.text)
                    if let erase = own.erase {
                        Press(look, erase.text, spoken: "\(erase.spoken). \(own.text)", tag: "erase-\(own.note)") {
                            desk.erase(note: own.note)
                        }
                        .row()
                    }
                }
                FormEntry(look: look, form: .notes, field: "text", label: desk.word("phone.notes"), capitals: .sentences)
            } foot: {
                UndoWhileCounting(look: look)
                Press(look, desk.word("phone.add"), tag: "add-note") { desk.addNote() }.made(strong: true)
            }
        } else {
            Waiting(look: look)
        }
    }
}

/// An animal that is on none of the plants that were searched: a page of its own, which no slip of a thumb reaches.
struct OutsideView: View {
    @Environment(Desk.self) private var desk
    let look: Look

    var body: some View {
        if let shown = desk.sheets.outside {
            Page(look, shown.title) {
                QuietLine(look, shown.lead)
                FormChoices(look: look, form: .outside, field: "what", asks: desk.word("phone.outside"), choices: shown.whats)
                FormChoices(look: look, form: .outside, field: "on", asks: desk.word("phone.on"), choices: shown.on)
                ForEach(shown.finds, id: \.find) { own in
                    Line(look, own.text)
                    if let photo = own.photo {
                        Press(look, photo.text, spoken: "\(photo.spoken). \(own.text)", tag: "photo-\(own.find)") {
                            desk.photograph(find: own.find)
                        }.row()
                    }
                }
            } foot: {
                UndoWhileCounting(look: look)
                Press(look, desk.word("phone.save"), tag: "save") { desk.saveFind() }.made(strong: true)
            }
        } else {
            Waiting(look: look)
        }
    }
}

/// How many plants more, and which: advice and no order.
struct AdviceView: View {
    @Environment(Desk.self) private var desk
    let look: Look

    var body: some View {
        if let shown = desk.sheets.advice {
            Page(look, shown.title) {
                ForEach(Array(shown.lines.enumerated()), id: \.offset) { Line(look, $0.element) }
                if !shown.which.isEmpty { Heading(look, shown.whichTitle) }
                ForEach(Array(shown.which.enumerated()), id: \.offset) { Line(look, $0.element) }
            } foot: {
                UndoWhileCounting(look: look)
                Press(look, desk.word("phone.back-to-counting"), tag: "counting") { desk.backToCounting() }.made(strong: true)
            }
        } else {
            Waiting(look: look)
        }
    }
}
