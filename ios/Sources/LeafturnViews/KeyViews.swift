import LeafturnCore
import LeafturnModels
import SwiftUI

/// Before the key: what one thinks it is, and by what one can look.
struct KeyStartView: View {
    @Environment(Desk.self) private var desk
    let look: Look

    var body: some View {
        if let shown = desk.keyStart {
            Page(look, shown.title) {
                Heading(look, desk.word("phone.key-means"))
                ForEach(shown.means, id: \.name) { own in
                    ChoiceButton(
                        look: look, text: own.label, tag: "means-\(own.name)", chosen: desk.chosen.means.contains(own.name), alone: false
                    ) {
                        desk.toggle(means: own.name)
                    }
                }
                Heading(look, desk.word("phone.key-guess"))
                ForEach(shown.guesses, id: \.outcome) { own in
                    Press(look, own.label, tag: "guess-\(own.outcome)") { desk.beginKey(guess: own.outcome) }.row()
                }
            } foot: {
                UndoWhileCounting(look: look)
                if let goOn = shown.goingOn { Press(look, goOn.text, spoken: goOn.spoken, tag: "go-on-with-key") { desk.goOnWithKey() } }
                Press(look, shown.noGuess.text, spoken: shown.noGuess.spoken, tag: "no-guess") { desk.beginKey(guess: nil) }.made(
                    strong: true)
            }
        } else {
            Waiting(look: look)
        }
    }
}

/// The key: a question with drawings of its states, how well each outcome fits, and what is proposed.
struct KeyView: View {
    @Environment(Desk.self) private var desk
    let look: Look

    var body: some View {
        if let shown = desk.key {
            Page(look, shown.title) {
                if let question = desk.keyChanged ?? shown.question {
                    QuestionView(look: look, question: question)
                } else if let done = shown.done {
                    Line(look, done)
                }
                if let beyond = shown.beyondGuess {
                    Press(look, beyond.text, spoken: beyond.spoken, tag: "beyond-guess") { desk.askBeyondGuess() }.row()
                }
                Heading(look, shown.supportTitle)
                ForEach(shown.support.prefix(Self.bars), id: \.outcome.outcome) { Bar(look: look, support: $0) }
                Line(look, shown.proposal.text)
                ForEach(Array(shown.reasons.enumerated()), id: \.offset) { QuietLine(look, $0.element) }
                if let disagree = shown.disagree { Line(look, disagree) }
                ForEach(shown.answers, id: \.character) { own in
                    Press(look, own.question, tag: "answered-\(own.character)") { desk.change(answer: own.character) }.row(own.answer)
                }
                ForEach(shown.skipped, id: \.character) { own in
                    Press(look, own.question, tag: "skipped-\(own.character)") { desk.askAgain(own.character) }.row(own.answer)
                }
                ForEach(Array(shown.notes.enumerated()), id: \.offset) { QuietLine(look, $0.element) }
            } foot: {
                UndoWhileCounting(look: look)
                if let put = shown.proposal.put {
                    Press(look, put.text, spoken: put.spoken, tag: "put") { desk.countFromKey() }.made(strong: true)
                }
            }
            .onAppear { desk.draw((desk.keyChanged ?? shown.question)?.states.map(\.drawing) ?? []) }
        } else {
            Waiting(look: look)
        }
    }

    /// Those that matter; the text says the rest.
    private static let bars = 4
}

private struct QuestionView: View {
    @Environment(Desk.self) private var desk
    let look: Look
    let question: KeyQuestion

    var body: some View {
        Heading(look, question.text)
        if !question.by.isEmpty { QuietLine(look, question.by) }
        ForEach(question.states, id: \.answer) { state in
            if let drawing = desk.drawing(state.drawing) {
                SpecimenView(drawing: drawing).frame(height: 80)
            }
            if let doubt = desk.chosen.doubt {
                ChoiceButton(
                    look: look, text: state.label, tag: "state-\(state.answer)", chosen: doubt.contains(state.answer), alone: false
                ) {
                    desk.answer(question.character, state.answer)
                }
            } else {
                Press(look, state.label, tag: "state-\(state.answer)") { desk.answer(question.character, state.answer) }.row()
            }
        }
        if question.number != nil {
            DeskEntry(look: look, label: question.text, field: .keyNumber, keys: .numbersAndPunctuation)
            Press(look, desk.word("phone.save"), tag: "answer-number") { desk.answerNumber(question.character) }.row()
            Press(look, desk.word("phone.measure"), tag: "measure") { desk.go(.measure(character: question.character)) }.row()
        }
        if let notSure = question.notSure {
            Press(look, notSure.text, spoken: notSure.spoken, tag: "not-sure") { desk.notSure(question.character) }.row()
        }
        Press(look, question.couldNotLook.text, spoken: question.couldNotLook.spoken, tag: "could-not-look") {
            desk.couldNotLook(question.character)
        }.row()
    }
}

/// How well an outcome fits the answers, with the number beside its bar.
private struct Bar: View {
    let look: Look
    let support: KeySupport

    var body: some View {
        VStack(alignment: .leading, spacing: 2) {
            HStack {
                Text(verbatim: support.outcome.label).font(.body).frame(maxWidth: .infinity, alignment: .leading)
                Text(verbatim: support.percent).font(.body)
            }
            GeometryReader { room in Rectangle().fill(look.ink).frame(width: room.size.width * support.share, height: 6) }.frame(height: 6)
        }
        .foregroundStyle(look.ink)
        .accessibilityElement(children: .combine)
        .accessibilityLabel(Text(verbatim: support.outcome.label))
        .accessibilityValue(Text(verbatim: support.percent))
    }
}
