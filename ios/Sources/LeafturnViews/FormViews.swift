import LeafturnCore
import LeafturnModels
import SwiftUI

/// A field of a form, with its label above.
struct FormEntry: View {
    @Environment(Desk.self) private var desk
    @FocusState private var focused: Bool
    let look: Look
    let form: Form.Name
    let field: String
    let label: String
    var keys = UIKeyboardType.default
    var capitals = TextInputAutocapitalization.never
    /// What follows a change, where something does.
    var changed: @MainActor () -> Void = {}

    var body: some View {
        VStack(alignment: .leading, spacing: Look.gap / 2) {
            Text(verbatim: label).font(.callout).foregroundStyle(look.quiet).accessibilityHidden(true)
            TextField(
                text: Binding(
                    get: { desk.form(form).text(field) },
                    set: {
                        desk.type($0, field, of: form)
                        changed()
                    })
            ) {
                Text(verbatim: label)
            }
            .font(.title3)
            .foregroundStyle(look.ink)
            .keyboardType(keys)
            .textInputAutocapitalization(capitals)
            .autocorrectionDisabled(true)
            .focused($focused)
            .padding(Look.inset)
            .frame(minHeight: Look.target)
            .background { Box(look: look) }
            .contentShape(Rectangle())
            .onTapGesture { focused = true }
            .accessibilityIdentifier("field-\(field)")
        }
        .padding(.top, Look.gap)
    }
}

/// A question and what may be chosen as its answer; nothing has to be.
struct FormChoices: View {
    @Environment(Desk.self) private var desk
    let look: Look
    let form: Form.Name
    let field: String
    let asks: String
    let choices: [Choice]
    /// Whether several go together.
    var several = false

    var body: some View {
        if !choices.isEmpty {
            Heading(look, asks)
            ForEach(choices, id: \.name) { own in
                ChoiceButton(
                    look: look, text: own.label, tag: "\(field)-\(own.name)", chosen: desk.form(form).holds(field, own.name),
                    alone: !several
                ) {
                    if several { desk.toggle(own.name, field, of: form) } else { desk.choose(own.name, field, of: form) }
                }
            }
        }
    }
}

/// Undo, where the screen lies above the pad: while counting it is always there.
struct UndoWhileCounting: View {
    @Environment(Desk.self) private var desk
    let look: Look

    var body: some View {
        if desk.path.contains(.counting) { UndoFoot(look: look) }
    }
}
