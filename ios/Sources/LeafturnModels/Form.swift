import LeafturnCore

/// What was typed and chosen on one screen and not yet saved. It is filled from the record when the screen begins, stays
/// while the person looks elsewhere, and ends when the core has kept it.
public struct Form: Equatable, Sendable {
    /// Which screen it belongs to.
    public enum Name: String, Hashable, Sendable { case details, weather, visit, notes, outside, measure }

    /// What it is about, such as the plant; with another one it begins anew.
    public private(set) var about: String
    public internal(set) var words: [String: String] = [:]
    public internal(set) var chosen: [String: Set<String>] = [:]

    init(about: String) { self.about = about }

    /// What was typed into a field.
    public func text(_ field: String) -> String { words[field] ?? "" }

    /// What was chosen, where it is one.
    public func one(_ field: String) -> String? { chosen[field]?.first }

    /// All that was chosen, in the order of names.
    public func all(_ field: String) -> [String] { (chosen[field] ?? []).sorted() }

    public func holds(_ field: String, _ name: String) -> Bool { chosen[field]?.contains(name) == true }

    mutating func fill(_ field: String, _ choices: [Choice]) { chosen[field] = Set(choices.filter(\.chosen).map(\.name)) }
}

extension Desk {
    public func form(_ name: Form.Name) -> Form { sheets.forms[name] ?? Form(about: "") }

    public func type(_ text: String, _ field: String, of name: Form.Name) { change(name) { $0.words[field] = text } }

    /// One of several that exclude each other; the chosen one again is none.
    public func choose(_ choice: String, _ field: String, of name: Form.Name) {
        change(name) { form in form.chosen[field] = form.holds(field, choice) ? [] : [choice] }
    }

    /// One of several that go together.
    public func toggle(_ choice: String, _ field: String, of name: Form.Name) {
        change(name) { form in form.chosen[field, default: []].formSymmetricDifference([choice]) }
    }

    /// Begins a form where it is not begun yet.
    func begin(_ name: Form.Name, about: String, _ fill: (inout Form) -> Void) {
        guard sheets.forms[name]?.about != about else { return }
        var form = Form(about: about)
        fill(&form)
        sheets.forms[name] = form
    }

    /// What it held was kept by the core, or is to be forgotten.
    func end(_ name: Form.Name) { sheets.forms[name] = nil }

    func change(_ name: Form.Name, _ change: (inout Form) -> Void) {
        var form = form(name)
        change(&form)
        sheets.forms[name] = form
    }
}
