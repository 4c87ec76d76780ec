import Dispatch
import Foundation
import LeafturnCore

/// What came of a call of the core.
public enum Outcome<Value: Sendable>: Sendable {
    case done(Value)
    case failed(Failure)
}

/// The core behind one serial queue: calls are done one after another in the order in which they were asked for, and what
/// came of them arrives on the main actor. Nothing is shown before it is durable.
public final class Core: @unchecked Sendable {
    private let queue = DispatchQueue(label: "leafturn.core", qos: .userInitiated)
    private let open: @Sendable () throws -> Leafturn
    /// Touched on the queue alone.
    private var opened: Leafturn?

    /// Calls asked for so far.
    @MainActor public private(set) var calls = 0
    /// Calls whose outcome has not arrived yet.
    @MainActor public private(set) var waiting = 0

    public init(open: @escaping @Sendable () throws -> Leafturn) {
        self.open = open
    }

    /// Does the work on the core's queue, and hands its outcome to the main actor.
    @MainActor public func call<Value: Sendable>(
        _ work: @escaping @Sendable (Leafturn) throws -> Value, then: @escaping @MainActor (Outcome<Value>) -> Void
    ) {
        calls += 1
        waiting += 1
        let then = Arrival(then: then)
        queue.async { [self] in
            let outcome = outcome(of: work)
            DispatchQueue.main.async {
                MainActor.assumeIsolated {
                    self.waiting -= 1
                    then.then(outcome)
                }
            }
        }
    }

    /// Does the work on the core's queue while the caller waits without holding a thread.
    public func ask<Value: Sendable>(_ work: @escaping @Sendable (Leafturn) throws -> Value) async -> Outcome<Value> {
        await withCheckedContinuation { waiting in
            queue.async { [self] in waiting.resume(returning: outcome(of: work)) }
        }
    }

    /// Lets go of the journal, so that another object may open it.
    public func close() async {
        await withCheckedContinuation { waiting in
            queue.async { [self] in
                opened = nil
                waiting.resume()
            }
        }
    }

    private func outcome<Value>(of work: (Leafturn) throws -> Value) -> Outcome<Value> {
        do {
            let core = try opened ?? open()
            opened = core
            return .done(try work(core))
        } catch let failure as Failure {
            return .failed(failure)
        } catch {
            // The bindings throw `Failure` alone, but for a library that does not belong to them.
            return .failed(.Report(text: String(describing: error)))
        }
    }
}

/// Carries what is to be done on the main actor across the queue, which never calls it.
private struct Arrival<Value: Sendable>: @unchecked Sendable {
    let then: @MainActor (Outcome<Value>) -> Void
}

extension Failure {
    /// What to show: the core's words, whatever its kind.
    public var words: String {
        switch self {
        case .Refused(let text), .TryAgain(let text), .FreeSpace(let text), .UseTheOther(let text), .OpenBeside(let text),
            .OpenAgain(let text), .StartedAgain(let text), .Report(let text):
            text
        }
    }
}
