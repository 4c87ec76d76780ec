import Foundation
import LeafturnCore
import LeafturnModels
import Walking
import XCTest

#if canImport(FoundationNetworking)
    import FoundationNetworking
#endif

/// What goes over the wire, and what the core is told of what came. Requests themselves are performed in the story, against
/// a real station: the Foundation of this machine may stop the whole process where a server answers before it has read
/// everything (a failing `curl_easy_pause` in its EasyHandle), so no server that does so is played here.
final class WireTests: XCTestCase {
    private func request(body: RequestBody = .nothing, method: String = "GET", token: Bool = true) -> HttpRequest {
        HttpRequest(
            id: 7, background: false, method: method, path: "/v1/hello", headers: [Header(name: "x-own", value: "1")], withToken: token,
            body: body)
    }

    private func wire(_ station: String, _ folder: URL, _ cleartext: Wire.Cleartext = .loopback) -> Wire {
        Wire(folder: folder, station: { station }, token: { "secret" }, cleartext: cleartext)
    }

    /// Asked of the delegate itself.
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

    func testTheTokenGoesWithWhatAsksForItAlone() throws {
        for (asks, wanted) in [(true, "Bearer secret"), (false, nil)] as [(Bool, String?)] {
            let made = Wire.request(request(token: asks), station: "https://station.example", token: "secret", cleartext: .refused)
            let asked = try XCTUnwrap(made)
            XCTAssertEqual(asked.value(forHTTPHeaderField: "authorization"), wanted)
            XCTAssertEqual(asked.value(forHTTPHeaderField: "x-own"), "1")
            XCTAssertEqual(asked.url?.absoluteString, "https://station.example/v1/hello")
            XCTAssertEqual(asked.httpMethod, "GET")
        }
    }

    func testTheCoreIsToldWhatItReads() throws {
        let here = try XCTUnwrap(URL(string: "https://station.example/v1/hello"))
        let fields = ["Content-Type": "application/problem+json", "Retry-After": "9", "Leafturn-Photo": "kept"]
        let response = HTTPURLResponse(url: here, statusCode: 429, httpVersion: "HTTP/1.1", headerFields: fields)
        guard case .answered(let answer) = Wire.outcome(response, Data(count: Wire.most + 1)) else { return XCTFail("no answer") }
        XCTAssertEqual([answer.contentType, answer.retryAfter, answer.photo], ["application/problem+json", "9", "kept"])
        XCTAssertEqual(answer.status, 429)
        XCTAssertEqual(answer.body.count, Wire.most)
        XCTAssertEqual(Wire.outcome(nil, Data()), .failed)
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
}
