import LeafturnCore

/// The stage key: what is asked, what was answered, and what it proposes are the core's; the session is kept there too.
extension Desk {
    public func openKey() { go(.keyStart) }

    func offered(_ record: KeyStartScreen) {
        keyStart = record
        chosen.means = Set(record.means.filter(\.chosen).map(\.name))
    }

    public func toggle(means: String) {
        if chosen.means.remove(means) == nil { chosen.means.insert(means) }
    }

    /// Begins; with a guess only what splits it from its neighbours is asked.
    public func beginKey(guess: String?) {
        let beginning = KeyBeginning(means: chosen.means.sorted(), guess: guess)
        ask({ try $0.beginKey(beginning: beginning) }) { desk, record in
            desk.asked(record)
            desk.path = [.counting, .key]
        }
    }

    public func goOnWithKey() { path = [.counting, .key] }

    /// One state; while in doubt, one of several.
    public func answer(_ character: String, _ state: String) {
        guard var doubt = chosen.doubt else { return reply { try $0.answerKey(character: character, answers: [state]) } }
        if doubt.remove(state) == nil { doubt.insert(state) }
        chosen.doubt = doubt
    }

    /// Begins to choose several states, or answers with those that were chosen.
    public func notSure(_ character: String) {
        guard let doubt = chosen.doubt else { return chosen.doubt = [] }
        let answers = doubt.sorted()
        reply { try $0.answerKey(character: character, answers: answers) }
    }

    public func answerNumber(_ character: String) {
        let typed = typed[.keyNumber] ?? ""
        reply { try $0.answerKey(character: character, answers: [typed]) }
    }

    public func couldNotLook(_ character: String) { reply { try $0.skipQuestion(character: character) } }

    public func askAgain(_ character: String) { reply { try $0.askAgain(character: character) } }

    public func askBeyondGuess() { reply { try $0.askBeyondGuess() } }

    /// Another answer to what was answered before.
    public func change(answer character: String) {
        ask({ try $0.keyQuestion(character: character) }) { $0.keyChanged = $1 }
    }

    /// Counts what is proposed.
    public func countFromKey() {
        ask({ try $0.countFromKey() }) { desk, record in
            desk.shown(record, .counted)
            desk.path = [.counting]
        }
    }

    func asked(_ record: KeyScreen) {
        key = record
        keyChanged = nil
        chosen.doubt = nil
        typed[.keyNumber] = nil
    }

    private func reply(_ work: @escaping @Sendable (Leafturn) throws -> KeyScreen) { ask(work) { $0.asked($1) } }
}
