import Foundation
import LeafturnCore
import LeafturnModels

/// Photos and leftovers, left to the system: whole files from the core's `outgoing/`, redirects refused. A transfer ends
/// maybe long after the app was gone; its request is named by the id in the task's description.
final class BackgroundTransfers: NSObject, Leftovers {
    private static let name = "leftovers"
    private let folder: URL
    private var session: URLSession?
    private var under: Set<UInt64> = []
    private var bodies: [Int: Data] = [:]

    /// Judges the certificates of stations.
    var trust: Trust?
    /// Called with each outcome.
    var ended: (@MainActor (UInt64, RequestOutcome) -> Void)?
    /// The system's own: to be called when all events of an earlier life were handled.
    var allDone: (() -> Void)?

    init(folder: URL) {
        self.folder = folder
    }

    /// At every start: takes up what an earlier life of the app left under way.
    func resume() {
        opened().getAllTasks { tasks in
            let ids = tasks.compactMap { $0.taskDescription.flatMap(UInt64.init) }
            Task { @MainActor in self.under.formUnion(ids) }
        }
    }

    func handOver(_ request: HttpRequest, to station: String, token: String?) -> Bool {
        guard case .file(let name) = request.body else { return false }
        guard !under.contains(request.id) else { return true }
        guard let asked = Wire.request(request, station: station, token: token, cleartext: .refused) else { return false }
        let task = opened().uploadTask(with: asked, fromFile: folder.appending(path: name))
        task.taskDescription = String(request.id)
        under.insert(request.id)
        task.resume()
        return true
    }

    private func opened() -> URLSession {
        if let session { return session }
        let configuration = URLSessionConfiguration.background(withIdentifier: Self.name)
        configuration.isDiscretionary = false
        configuration.sessionSendsLaunchEvents = true
        configuration.allowsExpensiveNetworkAccess = false
        configuration.urlCache = nil
        configuration.httpCookieStorage = nil
        // Delegate calls come on the main queue, where everything here lives.
        let session = URLSession(configuration: configuration, delegate: self, delegateQueue: .main)
        self.session = session
        return session
    }
}

extension BackgroundTransfers: URLSessionDataDelegate {
    nonisolated func urlSession(
        _ session: URLSession, task: URLSessionTask, willPerformHTTPRedirection response: HTTPURLResponse, newRequest request: URLRequest,
        completionHandler: @escaping @Sendable (URLRequest?) -> Void
    ) {
        completionHandler(nil)
    }

    nonisolated func urlSession(
        _ session: URLSession, didReceive challenge: URLAuthenticationChallenge,
        completionHandler: @escaping @Sendable (URLSession.AuthChallengeDisposition, URLCredential?) -> Void
    ) {
        let trust = MainActor.assumeIsolated { self.trust }
        Wire.judge(challenge, trust, completionHandler)
    }

    nonisolated func urlSession(_ session: URLSession, dataTask: URLSessionDataTask, didReceive data: Data) {
        let id = dataTask.taskIdentifier
        MainActor.assumeIsolated {
            if bodies[id, default: Data()].count <= Wire.most { bodies[id, default: Data()].append(data) }
        }
    }

    nonisolated func urlSession(_ session: URLSession, task: URLSessionTask, didCompleteWithError error: (any Error)?) {
        let own = task.taskIdentifier
        let request = task.taskDescription.flatMap(UInt64.init)
        let response = task.response
        let failed = error != nil
        MainActor.assumeIsolated {
            let body = bodies.removeValue(forKey: own) ?? Data()
            guard let request else { return }
            under.remove(request)
            ended?(request, failed ? .failed : Wire.outcome(response, body))
        }
    }

    nonisolated func urlSessionDidFinishEvents(forBackgroundURLSession session: URLSession) {
        MainActor.assumeIsolated {
            allDone?()
            allDone = nil
        }
    }
}
