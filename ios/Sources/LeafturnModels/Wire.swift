import Foundation
import LeafturnCore

#if canImport(FoundationNetworking)
    import FoundationNetworking
#endif

/// Performs the core's requests with the system's HTTP stack: no redirects, no cache, no cookies, files streamed from disk.
public final class Wire: NSObject, @unchecked Sendable {
    public enum Cleartext: Sendable { case refused, loopback }

    /// Octets of an answer that are read; the rest is cut off.
    public static let most = 2 * 1024 * 1024
    private static let timeout: TimeInterval = 30

    private let folder: URL
    private let station: @Sendable () -> String
    private let token: @Sendable () -> String?
    private let cleartext: Cleartext
    private let trust: Trust?
    private let lock = NSLock()
    private var pending: [Int: Pending] = [:]
    private var session: URLSession?

    private struct Pending {
        let done: CheckedContinuation<Ended, Never>
        var body = Data()
        var cut = false
    }

    public init(
        folder: URL, station: @escaping @Sendable () -> String, token: @escaping @Sendable () -> String?, cleartext: Cleartext,
        trust: Trust? = nil
    ) {
        self.folder = folder
        self.station = station
        self.token = token
        self.cleartext = cleartext
        self.trust = trust
    }

    /// One request, one outcome; whatever goes wrong on the way is "no answer".
    public func perform(_ request: HttpRequest) async -> RequestOutcome {
        guard let asked = Self.request(request, station: station(), token: token(), cleartext: cleartext) else { return .failed }
        let outcome = await withCheckedContinuation { done in
            let task = task(asked, request.body)
            lock.withLock { pending[task.taskIdentifier] = Pending(done: done) }
            task.resume()
        }
        if let next = outcome.next, let address = asked.url.flatMap(Trust.address) { await trust?.answered(address, next: next.key) }
        return outcome.outcome
    }

    /// What the core is told, and what the answer said of the key that follows; without an answer nothing was said.
    private struct Ended: Sendable {
        let outcome: RequestOutcome
        var next: Next?
    }

    private struct Next: Sendable { let key: String? }

    /// The request as the system takes it, without its body; nil where it must not go: not encrypted, or no address.
    public static func request(_ request: HttpRequest, station: String, token: String?, cleartext: Cleartext) -> URLRequest? {
        guard let url = URL(string: station + request.path), let host = url.host, !host.isEmpty else { return nil }
        switch url.scheme {
        case "https": break
        case "http" where cleartext == .loopback && ["127.0.0.1", "localhost", "::1"].contains(host): break
        default: return nil
        }
        var asked = URLRequest(url: url, cachePolicy: .reloadIgnoringLocalAndRemoteCacheData, timeoutInterval: timeout)
        asked.httpMethod = request.method
        asked.httpShouldHandleCookies = false
        for header in request.headers { asked.setValue(header.value, forHTTPHeaderField: header.name) }
        if request.withToken, let token { asked.setValue("Bearer \(token)", forHTTPHeaderField: "authorization") }
        return asked
    }

    /// What the core is told of an answer.
    public static func outcome(_ response: URLResponse?, _ body: Data) -> RequestOutcome {
        guard let answer = response as? HTTPURLResponse else { return .failed }
        return .answered(
            answer: Answer(
                status: UInt16(clamping: answer.statusCode),
                contentType: answer.value(forHTTPHeaderField: "content-type") ?? "",
                retryAfter: answer.value(forHTTPHeaderField: "retry-after"),
                photo: answer.value(forHTTPHeaderField: "leafturn-photo"),
                body: body.prefix(most)))
    }

    private func task(_ asked: URLRequest, _ body: RequestBody) -> URLSessionTask {
        let session = opened()
        switch body {
        case .nothing: return session.dataTask(with: asked)
        case .octets(let octets): return session.uploadTask(with: asked, from: octets)
        case .file(let name): return session.uploadTask(with: asked, fromFile: folder.appendingPathComponent(name))
        }
    }

    private func opened() -> URLSession {
        lock.withLock {
            if let session { return session }
            let configuration = URLSessionConfiguration.ephemeral
            configuration.urlCache = nil
            configuration.httpCookieStorage = nil
            configuration.timeoutIntervalForRequest = Self.timeout
            let session = URLSession(configuration: configuration, delegate: self, delegateQueue: nil)
            self.session = session
            return session
        }
    }

    private func finish(_ task: URLSessionTask, with outcome: (Pending) -> RequestOutcome) {
        guard let ended = lock.withLock({ pending.removeValue(forKey: task.taskIdentifier) }) else { return }
        let next = (task.response as? HTTPURLResponse).map { Next(key: $0.value(forHTTPHeaderField: "leafturn-next-key")) }
        ended.done.resume(returning: Ended(outcome: outcome(ended), next: next))
    }
}

extension Wire: URLSessionDataDelegate {
    /// A token never follows a redirect, and no answer comes from elsewhere than the station.
    public func urlSession(
        _ session: URLSession, task: URLSessionTask, willPerformHTTPRedirection response: HTTPURLResponse,
        newRequest request: URLRequest, completionHandler: @escaping @Sendable (URLRequest?) -> Void
    ) {
        completionHandler(nil)
    }

    public func urlSession(_ session: URLSession, dataTask: URLSessionDataTask, didReceive data: Data) {
        let full = lock.withLock {
            pending[dataTask.taskIdentifier]?.body.append(data)
            let full = (pending[dataTask.taskIdentifier]?.body.count ?? 0) > Self.most
            if full { pending[dataTask.taskIdentifier]?.cut = true }
            return full
        }
        if full { dataTask.cancel() }
    }

    public func urlSession(_ session: URLSession, task: URLSessionTask, didCompleteWithError error: (any Error)?) {
        finish(task) { ended in error == nil || ended.cut ? Self.outcome(task.response, ended.body) : .failed }
    }
}

#if canImport(Security)
    extension Wire {
        /// The system says whether it trusts the certificate; the core says whether to go on.
        public func urlSession(
            _ session: URLSession, didReceive challenge: URLAuthenticationChallenge,
            completionHandler: @escaping @Sendable (URLSession.AuthChallengeDisposition, URLCredential?) -> Void
        ) {
            Self.judge(challenge, trust, completionHandler)
        }

        /// The same for transfers that outlive the process.
        public static func judge(
            _ challenge: URLAuthenticationChallenge, _ trust: Trust?,
            _ done: @escaping @Sendable (URLSession.AuthChallengeDisposition, URLCredential?) -> Void
        ) {
            let space = challenge.protectionSpace
            guard space.authenticationMethod == NSURLAuthenticationMethodServerTrust, let trust, let shown = space.serverTrust,
                let chain = SecTrustCopyCertificateChain(shown) as? [SecCertificate], let leaf = chain.first
            else { return done(.performDefaultHandling, nil) }
            let port = space.port == 443 || space.port == 0 ? "" : ":\(space.port)"
            let seen = CertificateSeen(
                address: "https://\(space.host)\(port)", certificate: SecCertificateCopyData(leaf) as Data,
                systemTrusts: SecTrustEvaluateWithError(shown, nil))
            let credential = URLCredential(trust: shown)
            Task {
                if await trust.accepts(seen) { done(.useCredential, credential) } else { done(.cancelAuthenticationChallenge, nil) }
            }
        }
    }
#endif
