import LeafturnCore

/// Looking a visit over: where a finding leads, plants that two phones looked at, advice, and what closes a visit.
extension Desk {
    /// The review; after the end also the lines that close the visit.
    func openReview() {
        askHere({ core in
            let review = try core.review()
            return (review, review.ended ? try core.closing() : nil)
        }) { desk, shown in
            desk.review = shown.0
            desk.sheets.closing = shown.1
        }
    }

    /// To where something can be done about a finding; nil where nothing can be done on a phone.
    public func place(of finding: Int) -> Place? {
        guard let leads = review?.leads, leads.indices.contains(finding) else { return nil }
        switch leads[finding] {
        case .plant(let check): return .details(check: check)
        case .twoLooks: return .matching
        case .visit: return .visit
        case .nowhere: return nil
        }
    }

    /// From what is looked into back to the review, wherever it was opened from.
    public func backToReview() {
        if path.contains(.review) {
            while path.last != .review { path.removeLast() }
        } else {
            path.append(.review)
        }
    }

    // MARK: Two looks at one plant

    func openMatching() { askHere({ try $0.matching() }) { $0.compared($1) } }

    private func compared(_ record: MatchScreen) {
        sheets.matching = record
        sheets.both = Dictionary(
            record.pairs.map { pair in
                let said = Dictionary(pair.rows.compactMap { row in row.both.map { (row.what, Int($0)) } }) { $1 }
                return (pair.name, sheets.both[pair.name] ?? said)
            }
        ) { $1 }
    }

    /// How many of a stage both saw, as it stands on the screen; nil where nothing is said yet.
    public func both(_ pair: MatchPair, _ row: MatchRow) -> Int? { sheets.both[pair.name]?[row.what] }

    /// One more, or one fewer, within what both can have seen. Where nothing is said yet, the first press says none.
    public func change(_ pair: MatchPair, _ row: MatchRow, by step: Int) {
        let number = both(pair, row).map { $0 + step } ?? 0
        guard row.numbers.indices.contains(number) else { return }
        sheets.both[pair.name, default: [:]][row.what] = number
    }

    public func saveMatch(_ pair: MatchPair) {
        let both = (sheets.both[pair.name] ?? [:]).sorted { $0.key < $1.key }.map {
            BothSaw(what: $0.key, both: UInt32(clamping: $0.value))
        }
        ask({ try $0.matchChecks(checks: pair.checks, both: both) }) { desk, record in
            desk.sheets.both[pair.name] = nil
            if desk.settings.buzz { desk.device.haptics.feel(.counted) }
            desk.compared(record)
        }
    }

    public func samePlant(_ pair: MatchPair) { judged { try $0.samePlant(checks: pair.checks) } }

    public func differentPlants(_ pair: MatchPair) { judged { try $0.differentPlants(checks: pair.checks) } }

    private func judged(_ work: @escaping @Sendable (Leafturn) throws -> ReviewScreen) {
        ask({ core in (try work(core), try core.matching()) }) { desk, shown in
            desk.review = shown.0
            if desk.settings.buzz { desk.device.haptics.feel(.counted) }
            desk.compared(shown.1)
        }
    }

    // MARK: Advice

    func openAdvice() { askHere({ try $0.advice() }) { $0.sheets.advice = $1 } }
}

extension MatchPair {
    /// The pair, whatever its order on the screen.
    var name: String { checks.joined(separator: " ") }
}
