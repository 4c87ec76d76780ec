import Foundation
import LeafturnCore
import LeafturnModels
import Walking
import XCTest

#if canImport(FoundationNetworking)
    import FoundationNetworking
#endif

/// What goes over the wire, against small servers that say one thing each.
final class WireTests: XCTestCase {
    /// Answers one connection after another with the same octets, and keeps what it was asked.
    private final class Server: @unchecked Sendable {
        let port: UInt16
        private let listening: Int32
        private let lock = NSLock()
        private var heard: [String] = []
        var asked: [String] { lock.withLock { heard } }

        init(_ answer: String) throws {
            listening = socket(AF_INET, Int32(SOCK_STREAM.rawValue), 0)
            var address = sockaddr_in()
            address.sin_family = sa_family_t(AF_INET)
            address.sin_addr.s_addr = inet_addr("127.0.0.1")
            var length = socklen_t(MemoryLayout<sockaddr_in>.size)
            let listening = listening
            let bound = withUnsafeMutablePointer(to: &address) { pointer in
                pointer.withMemoryRebound(to: sockaddr.self, capacity: 1) { own in
                    bind(listening, own, length) == 0 && listen(listening, 8) == 0 && getsockname(listening, own, &length) == 0
                }
            }
            guard bound else { throw Unexpected("no port") }
            port = UInt16(bigEndian: address.sin_port)
            Thread { [weak self] in
                while true {
                    let peer = accept(listening, nil, nil)
                    guard peer >= 0 else { return }
                    var buffer = [UInt8](repeating: 0, count: 65_536)
                    let count = recv(peer, &buffer, buffer.count, 0)
                    self?.keep(String(decoding: buffer.prefix(max(count, 0)), as: UTF8.self))
                    _ = answer.withCString { send(peer, $0, strlen($0), Int32(MSG_NOSIGNAL)) }
                    shutdown(peer, Int32(SHUT_RDWR))
                    close(peer)
                }
            }.start()
        }

        private func keep(_ text: String) { lock.withLock { heard.append(text) } }

        deinit { shutdown(listening, Int32(SHUT_RDWR)) }
    }

    private func request(body: RequestBody = .nothing, method: String = "GET", token: Bool = true) -> HttpRequest {
        HttpRequest(
            id: 7, background: false, method: method, path: "/v1/hello", headers: [Header(name: "x-own", value: "1")], withToken: token,
            body: body)
    }

    private func wire(_ station: String, _ folder: URL, _ cleartext: Wire.Cleartext = .loopback) -> Wire {
        Wire(folder: folder, station: { station }, token: { "secret" }, cleartext: cleartext)
    }

    private func answered(_ outcome: RequestOutcome) throws -> Answer {
        guard case .answered(let answer) = outcome else { throw Unexpected("no answer") }
        return answer
    }

    /// Asked of the delegate itself: the Foundation of this machine may stop the whole process when a redirect is refused
    /// after the connection was closed (a failing `curl_easy_pause` in its EasyHandle), which no phone's does.
    func testARedirectIsNotFollowed() throws {
        let wire = try wire("https://station.example", scratch("wire"))
        let here = try XCTUnwrap(URL(string: "https://station.example/v1/hello"))
        let elsewhere = try XCTUnwrap(URL(string: "https://elsewhere.example/v1/hello"))
        let response = try XCTUnwrap(HTTPURLResponse(url: here, statusCode: 302, httpVersion: "HTTP/1.1", headerFields: nil))
        let session = URLSession(configuration: .ephemeral)
        let next = Next()
        wire.urlSession(
            session, task: session.dataTask(with: here), willPerformHTTPRedirection: response, newRequest: URLRequest(url: elsewhere)
        ) { next.request = $0 }
        XCTAssertNil(next.request, "the token would go elsewhere")
    }

    private final class Next: @unchecked Sendable {
        var request: URLRequest? = URLRequest(url: URL(fileURLWithPath: "/not-asked"))
    }

    func testTheTokenGoesWithWhatAsksForIt() async throws {
        let station = try Server("HTTP/1.1 200 OK\r\ncontent-length: 2\r\nconnection: close\r\n\r\nhi")
        let answer = try answered(await wire("http://127.0.0.1:\(station.port)", scratch("wire")).perform(request()))
        XCTAssertEqual(answer.status, 200)
        XCTAssertTrue(station.asked[0].lowercased().contains("authorization: bearer secret"), station.asked[0])
    }

    func testAFileGoesWholeAndAnswersCarryWhatTheCoreReads() async throws {
        let folder = try scratch("file")
        try Data("invented octets".utf8).write(to: folder.appendingPathComponent("body"))
        let station = try Server(
            "HTTP/1.1 429 Too Many Requests\r\ncontent-type: application/problem+json\r\nretry-after: 9\r\nleafturn-photo: kept\r\ncontent-length: 2\r\nconnection: close\r\n\r\n{}"
        )
        let answer = try answered(
            await wire("http://127.0.0.1:\(station.port)", folder).perform(request(body: .file(name: "body"), method: "PUT", token: false)))
        XCTAssertEqual([answer.contentType, answer.retryAfter, answer.photo], ["application/problem+json", "9", "kept"])
        XCTAssertEqual(answer.status, 429)
        XCTAssertEqual(answer.body, Data("{}".utf8))
        let asked = station.asked[0].lowercased()
        XCTAssertTrue(asked.contains("content-length: 15"), asked)
        XCTAssertFalse(asked.contains("authorization"), asked)
    }

    /// Without encryption nothing leaves the phone, but in tests on this machine.
    func testWhatMayBeSentWhere() {
        let table: [(station: String, cleartext: Wire.Cleartext, goes: Bool)] = [
            ("https://station.example", .refused, true), ("http://station.example", .refused, false),
            ("http://127.0.0.1:1", .refused, false),
            ("http://127.0.0.1:1", .loopback, true), ("http://station.example", .loopback, false),
            ("ftp://station.example", .loopback, false),
            ("", .loopback, false), ("https://", .refused, false),
        ]
        for row in table {
            let made = Wire.request(request(), station: row.station, token: "t", cleartext: row.cleartext)
            XCTAssertEqual(made != nil, row.goes, row.station)
        }
    }

    func testNoStationIsNoAnswer() async throws {
        let outcome = try await wire("http://127.0.0.1:9", scratch("none")).perform(request())
        XCTAssertEqual(outcome, .failed)
    }
}
