import Foundation
import LeafturnCore

/// Joining, sending, handing over.
extension Desk {
    public func join() {
        station.text = typed[.station] ?? station.text
        let code = typed[.code] ?? ""
        ask({ try $0.join(code: code) }) { $0.joined(token: $1.token, screen: $1.screen) }
    }

    /// An invitation read by the camera: its address and its keys hold for that station alone.
    public func scan() {
        Task {
            guard let text = await device.scanner.scan() else { return say(word("phone.scan-no")) }
            ask({ try $0.joinScanned(text: text) }) { desk, joined in
                desk.station.text = joined.address
                desk.joined(token: joined.token, screen: joined.screen)
            }
        }
    }

    /// Counting needs no station; joining is not offered at the start any more.
    public func skipJoin() { ask({ try $0.skipJoin() }) { $0.own.join = $1 } }

    private func joined(token: String, screen: SendingScreen) {
        vault.keep(token: token)
        typed[.code] = nil
        sending = screen
        own.join = nil
        path = [.sending]
        send(byPerson: true)
    }

    public func sendNow() { send(byPerson: true) }

    /// Sends what can be sent. The system asks for it too, when it wakes the app.
    public func send(byPerson: Bool) {
        guard !busy else { return }
        busy = true
        let wanted = Wanted(byPerson: byPerson, metered: device.network.metered)
        Task {
            let last = await run.start(wanted, leftovers: device.leftovers, station: station.text, token: vault.token()) {
                self.sending = $0
            }
            busy = false
            switch last {
            case .done(let record): sending = record
            case .failed(let failure): say(failure.words)
            }
        }
    }

    /// A transfer of the system ended, maybe one of an earlier life of this app. What it leaves to be done is done.
    public func transferEnded(_ id: UInt64, _ outcome: RequestOutcome) {
        ask({ try $0.requestDone(id: id, outcome: outcome) }) { desk, record in
            desk.sending = record
            desk.send(byPerson: false)
        }
    }

    public func export() {
        let file = exports.appendingPathComponent("leafturn-journal.gz")
        ask({ try $0.exportTo(path: file.path) }) { desk, said in
            desk.say(said)
            desk.device.sharing.share(file)
        }
    }
}
