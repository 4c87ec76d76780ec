import Foundation
import LeafturnCore

/// Whether a certificate is the station's: the core judges, and is told what came of it.
public final class Trust: @unchecked Sendable {
    private let core: Core
    private let lock = NSLock()
    /// The key of the certificate that was accepted for an address.
    private var accepted: [String: String] = [:]

    public init(core: Core) {
        self.core = core
    }

    /// Whether to go on with a connection. Where the core cannot say, nothing is sent.
    public func accepts(_ seen: CertificateSeen) async -> Bool {
        guard case .done(let judged) = await core.ask({ try $0.judgeCertificate(seen: seen) }) else { return false }
        if judged.accept {
            lock.withLock { accepted[seen.address] = judged.key }
        } else if let refusal = judged.refusal {
            _ = await core.ask { try $0.connectionRefused(refusal: refusal) }
        }
        return judged.accept
    }

    /// An answer came over a connection that was accepted; it may name the key that follows.
    public func answered(_ address: String, next: String?) async {
        guard let key = lock.withLock({ accepted[address] }) else { return }
        _ = await core.ask { try $0.connectionAccepted(key: key, next: next) }
    }

    /// Scheme, name and port, as the core knows a station by.
    public static func address(_ url: URL) -> String? {
        guard let scheme = url.scheme, let host = url.host else { return nil }
        return url.port.map { "\(scheme)://\(host):\($0)" } ?? "\(scheme)://\(host)"
    }
}
