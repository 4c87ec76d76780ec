import LeafturnCore
import LeafturnModels
import SwiftUI

/// A field with its label above.
struct Entry: View {
    @FocusState private var focused: Bool
    let look: Look
    let label: String
    let tag: String
    let keys: UIKeyboardType
    let capitals: TextInputAutocapitalization
    let text: Binding<String>

    var body: some View {
        VStack(alignment: .leading, spacing: Look.gap / 2) {
            Text(verbatim: label).font(.callout).foregroundStyle(look.quiet).accessibilityHidden(true)
            TextField(text: text) { Text(verbatim: label) }
                .font(.title3)
                .foregroundStyle(look.ink)
                .keyboardType(keys)
                .textInputAutocapitalization(capitals)
                .autocorrectionDisabled(true)
                .focused($focused)
                .padding(Look.inset)
                .frame(minHeight: Look.target)
                .background { Box(look: look) }
                // The whole box begins the typing, not the line of letters alone.
                .contentShape(Rectangle())
                .onTapGesture { focused = true }
                .accessibilityIdentifier("field-\(tag)")
        }
        .padding(.top, Look.gap)
    }
}

/// A field of what is typed on one screen alone.
struct DeskEntry: View {
    @Environment(Desk.self) private var desk
    let look: Look
    let label: String
    let field: Field
    var keys = UIKeyboardType.default
    var capitals = TextInputAutocapitalization.words

    var body: some View {
        Entry(
            look: look, label: label, tag: field.rawValue, keys: keys, capitals: capitals,
            text: Binding(get: { desk.typed[field] ?? "" }, set: { desk.type($0, into: field) }))
    }
}

/// A field of a form.
struct FormEntry: View {
    @Environment(Desk.self) private var desk
    let look: Look
    let form: Form.Name
    let field: String
    let label: String
    var keys = UIKeyboardType.default
    var capitals = TextInputAutocapitalization.never
    /// What follows a change, where something does.
    var changed: @MainActor () -> Void = {}

    var body: some View {
        Entry(
            look: look, label: label, tag: field, keys: keys, capitals: capitals,
            text: Binding(
                get: { desk.form(form).text(field) },
                set: {
                    desk.type($0, field, of: form)
                    changed()
                }))
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
