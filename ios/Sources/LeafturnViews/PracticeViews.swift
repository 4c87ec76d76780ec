import LeafturnCore
import LeafturnModels
import SwiftUI

/// What is it? A drawing without names, and what can be answered; then what is right, with the part that decides ringed.
struct PracticeView: View {
    @Environment(Desk.self) private var desk
    let look: Look

    var body: some View {
        if let marks = desk.sheets.marks {
            Page(look, marks.next.title) {
                Heading(look, marks.verdict)
                PracticeDrawing(look: look)
                Line(look, marks.decides)
            } foot: {
                Press(look, marks.goOn.text, spoken: marks.goOn.spoken, tag: "practice-go-on") { desk.goOnPractising() }.made(strong: true)
            }
        } else if let shown = desk.sheets.practice {
            Page(look, shown.title) {
                QuietLine(look, shown.progress)
                PracticeDrawing(look: look)
                Heading(look, shown.asks)
                if let noScale = shown.noScale { QuietLine(look, noScale) }
                ForEach(shown.choices, id: \.name) { own in
                    Press(look, own.label, tag: "practice-\(own.name)") { desk.answerPractice(own.name) }.row()
                }
                ForEach(Array((shown.result + shown.confused + shown.lookAt).enumerated()), id: \.offset) { Line(look, $0.element) }
                QuietLine(look, shown.note)
            } foot: {
                EmptyView()
            }
        } else {
            Waiting(look: look)
        }
    }
}

/// The drawing, on white whatever the colours, with its description for those who do not see it.
private struct PracticeDrawing: View {
    @Environment(Desk.self) private var desk
    let look: Look

    var body: some View {
        if let drawing = desk.sheets.practiceDrawing {
            FigureView(drawing: drawing).frame(height: 190)
        }
    }
}
