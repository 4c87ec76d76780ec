import Foundation

#if canImport(Glibc)
    import Glibc

    /// A server on this machine that answers every request with a redirect to another of its own paths, and remembers what
    /// it was asked: a token must never arrive where a redirect points to.
    public final class Redirecting: @unchecked Sendable {
        public let address: String
        private let listening: Int32
        private let lock = NSLock()
        private var heads: [String] = []

        public init() throws {
            let listening = socket(AF_INET, Int32(SOCK_STREAM.rawValue), 0)
            self.listening = listening
            var here = sockaddr_in()
            here.sin_family = sa_family_t(AF_INET)
            here.sin_addr.s_addr = UInt32(0x7F00_0001).bigEndian
            var size = socklen_t(MemoryLayout<sockaddr_in>.size)
            let bound = withUnsafeMutablePointer(to: &here) { place in
                place.withMemoryRebound(to: sockaddr.self, capacity: 1) { place in
                    bind(listening, place, size) == 0 && listen(listening, 4) == 0 && getsockname(listening, place, &size) == 0
                }
            }
            guard bound else { throw Unexpected("no port is free: \(errno)") }
            address = "http://127.0.0.1:\(UInt16(bigEndian: here.sin_port))"
            let serving = Thread { [weak self, listening] in
                while true {
                    let peer = accept(listening, nil, nil)
                    guard peer >= 0 else { return }
                    self?.answer(peer)
                    close(peer)
                }
            }
            serving.start()
        }

        deinit {
            shutdown(listening, Int32(SHUT_RDWR))
            close(listening)
        }

        /// The heads of all requests so far.
        public var asked: [String] { lock.withLock { heads } }

        private func answer(_ peer: Int32) {
            var head = Data()
            var octets = [UInt8](repeating: 0, count: 4096)
            while head.range(of: Data("\r\n\r\n".utf8)) == nil {
                let came = read(peer, &octets, octets.count)
                guard came > 0 else { return }
                head.append(contentsOf: octets[..<came])
            }
            lock.withLock { heads.append(String(decoding: head, as: UTF8.self)) }
            let fields = ["HTTP/1.1 307 Temporary Redirect", "location: \(address)/elsewhere", "content-length: 0", "connection: close"]
            let answer = fields.joined(separator: "\r\n") + "\r\n\r\n"
            _ = answer.withCString { write(peer, $0, strlen($0)) }
        }
    }
#endif
