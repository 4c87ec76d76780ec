import Foundation
import LeafturnCore

/// Counting: each act goes to the core; its number, its haptic and its words come when it is durable.
extension Desk {
    // MARK: The pad

    public func touch(_ tile: String, at time: Date) { touches.touch(tile, at: time) }

    public func lift(_ tile: String, at time: Date, moved: CGSize) {
        if touches.lift(tile, at: time, moved: moved) { count(tile) }
    }

    public func count(_ what: String) {
        act(.counted, { try $0.count(what: what) }) { record in record.tiles.first { $0.what == what }?.announcement }
    }

    public func uncount(_ what: String) {
        act(.takenBack, { try $0.uncount(what: what) }) { record in record.tiles.first { $0.what == what }?.announcement }
    }

    public func empty() { act(.counted, { try $0.emptyPlant() }) { $0.title } }

    public func next() { act(.counted, { try $0.nextPlant() }) { $0.title } }

    public func takeBack() {
        let label = counting?.takeBack?.text
        act(.takenBack, { try $0.takeBack() }) { _ in label }
    }

    /// Keys of a keyboard: digits count, 0 says empty, N goes on, U or delete takes back. Whether the key meant anything.
    public func key(_ key: Character) -> Bool {
        guard let counting, counting.open else { return false }
        switch key {
        case "1"..."9":
            guard let at = key.wholeNumberValue, at <= counting.tiles.count else { return false }
            count(counting.tiles[at - 1].what)
        case "0": empty()
        case "n", "N": next()
        case "u", "U", "\u{7F}", "\u{8}": takeBack()
        default: return false
        }
        return true
    }

    // MARK: Beside the pad; each leads back to it

    public func countAside(_ what: String) { aside(.counted) { try $0.count(what: what) } }

    public func count(_ what: String, in state: String) { aside(.counted) { try $0.countInState(what: what, state: state) } }

    /// The host of the first plant, or another one for the open plant.
    public func choose(host: String) {
        if counting?.open == true {
            aside(.counted) { try $0.changeHost(host: host) }
        } else {
            aside(.counted) { try $0.openPlant(host: host) }
        }
    }

    public func closeInPart() { aside(.counted) { try $0.closeInPart() } }

    public func closeUnsearched() { aside(.counted) { try $0.closeUnsearched() } }

    public func redo() { aside(.counted) { try $0.redo() } }

    public func takeBackAside() { aside(.takenBack) { try $0.takeBack() } }

    /// The photo that is asked for.
    public func photograph() {
        guard let asked = counting?.photoAsked else { return }
        Task {
            guard let jpeg = await device.camera.take() else { return }
            ask({ try $0.takePhoto(count: asked.count, jpeg: jpeg) }) { $0.counting = $1 }
        }
    }

    // MARK: The end

    public func endVisit() {
        ask({ core in (try core.endVisit(), try? core.closing()) }) { desk, ended in
            desk.review = ended.0
            desk.sheets.closing = ended.1
        }
    }

    public func takeBackEnd() {
        ask({ core in
            _ = try core.takeBack()
            return try core.review()
        }) { desk, record in
            desk.review = record
            desk.sheets.closing = nil
        }
    }

    public func backToCounting() { path = [.counting] }

    private func act(
        _ feel: Feel, _ work: @escaping @Sendable (Leafturn) throws -> CountingScreen,
        spoken: @escaping @MainActor (CountingScreen) -> String?
    ) {
        ask(work) { desk, record in
            desk.shown(record, feel)
            guard let text = spoken(record) else { return }
            if desk.settings.spoken { desk.device.speaker.sayAloud(text) } else { desk.device.speaker.say(text) }
        }
    }

    private func aside(_ feel: Feel, _ work: @escaping @Sendable (Leafturn) throws -> CountingScreen) {
        ask(work) { desk, record in
            desk.shown(record, feel)
            desk.path = [.counting]
        }
    }

    func shown(_ record: CountingScreen, _ feel: Feel) {
        if settings.buzz { device.haptics.feel(feel) }
        if settings.sound { device.sounds.sound(feel) }
        notice = nil
        counting = record
    }
}
