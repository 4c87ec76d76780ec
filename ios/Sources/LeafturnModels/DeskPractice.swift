import LeafturnCore

/// Practice: what is shown, what is right and what comes next are the core's. It changes no count.
extension Desk {
    /// Units of the drawing; the view scales it.
    private nonisolated static let wide: UInt32 = 288, high: UInt32 = 180

    func openPractice() {
        guard sheets.marks == nil else { return }
        askHere({ core in (try core.practice(), try core.practiceDrawing(width: Self.wide, height: Self.high)) }) { desk, shown in
            desk.practise(shown.0, shown.1)
        }
    }

    public func answerPractice(_ choice: String) {
        guard let shown = sheets.practice else { return }
        let took = sheets.practisedSince.map { ContinuousClock.now - $0 } ?? .zero
        let tookMs = UInt32(clamping: took.components.seconds * 1000 + took.components.attoseconds / 1_000_000_000_000_000)
        ask({ core in
            let marks = try core.answerPractice(item: shown.item, choice: choice, tookMs: tookMs)
            return (marks, try core.practiceExplained(width: Self.wide, height: Self.high))
        }) { desk, answered in
            desk.sheets.marks = answered.0
            desk.sheets.practiceDrawing = answered.1
            if desk.settings.buzz { desk.device.haptics.feel(answered.0.right ? .counted : .takenBack) }
            desk.device.speaker.say(answered.0.verdict)
        }
    }

    public func goOnPractising() {
        guard let next = sheets.marks?.next else { return }
        ask({ try $0.practiceDrawing(width: Self.wide, height: Self.high) }) { $0.practise(next, $1) }
    }

    private func practise(_ record: PracticeScreen, _ drawing: Drawing) {
        sheets.marks = nil
        sheets.practice = record
        sheets.practiceDrawing = drawing
        sheets.practisedSince = .now
    }
}
