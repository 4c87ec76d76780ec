import Foundation
import LeafturnCore

/// Joining, sending, handing over; and settings.
extension Desk {
    public func join() {
        settings.station = typed[.station] ?? settings.station
        let code = typed[.code] ?? ""
        ask({ try $0.join(code: code) }) { desk, joined in
            desk.vault.keep(token: joined.token)
            desk.typed[.code] = nil
            desk.sending = joined.screen
            desk.path = [.sending]
            desk.send(byPerson: true)
        }
    }

    public func sendNow() { send(byPerson: true) }

    /// Sends what can be sent. The system asks for it too, when it wakes the app.
    public func send(byPerson: Bool) {
        guard !busy else { return }
        busy = true
        let wanted = Wanted(byPerson: byPerson, metered: device.network.metered)
        Task {
            let last = await run.start(wanted, leftovers: device.leftovers, station: settings.station, token: vault.token()) {
                self.sending = $0
            }
            busy = false
            switch last {
            case .done(let record): sending = record
            case .failed(let failure): say(failure.words)
            }
        }
    }

    /// A transfer of the system ended, maybe one of an earlier life of this app.
    public func transferEnded(_ id: UInt64, _ outcome: RequestOutcome) {
        ask({ try $0.requestDone(id: id, outcome: outcome) }) { $0.sending = $1 }
    }

    public func export() {
        let file = exports.appendingPathComponent("leafturn-journal.gz")
        ask({ try $0.exportTo(path: file.path) }) { desk, said in
            desk.say(said)
            desk.device.sharing.share(file)
        }
    }

    public func change(_ set: (Settings) -> Void) {
        let language = settings.language
        set(settings)
        dressed += 1
        if settings.language != language { begin() }
    }
}
