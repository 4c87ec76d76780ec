import Foundation
import LeafturnCore

/// Performs one request after another until the core has no more. One run at a time in a process.
public final class SendRun: Sendable {
    private let core: Core
    private let wire: Wire

    public init(core: Core, wire: Wire) {
        self.core = core
        self.wire = wire
    }

    /// Sends what can be sent; each record on the way goes to `progress`, the last one is returned. A request that the
    /// system's own transfers take over ends the run: its outcome comes by itself, after a restart of the app perhaps.
    @MainActor public func start(
        _ wanted: Wanted, leftovers: any Leftovers, station: String, token: String?,
        progress: @escaping @MainActor (SendingScreen) -> Void
    ) async -> Outcome<SendingScreen> {
        var last = await core.ask { try $0.syncWanted(wanted: wanted) }
        while true {
            let request: HttpRequest
            switch await core.ask({ try $0.nextRequest() }) {
            case .failed(let failure): return .failed(failure)
            case .done(nil): return last
            case .done(let next?): request = next
            }
            if request.background, leftovers.handOver(request, to: station, token: token) { return last }
            let outcome = await wire.perform(request)
            last = await core.ask { try $0.requestDone(id: request.id, outcome: outcome) }
            switch last {
            case .done(let record): progress(record)
            case .failed: return last
            }
        }
    }
}
