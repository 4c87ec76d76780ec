import Foundation
import LeafturnCore
import LeafturnModels
import LeafturnViews
import Walking
import XCTest

/// Joining, trust, and what is sent while nobody looks. A double stands for the system's own transfers; the requests that
/// it took are performed against a real station.
final class SendTests: XCTestCase {
    private func request(_ path: String) -> HttpRequest {
        HttpRequest(id: 1, background: false, method: "GET", path: path, headers: [], withToken: true, body: .nothing)
    }

    /// Over a real connection: the answer is told to the core as it came, and the token goes nowhere else.
    func testARedirectOverTheWireIsTheAnswer() async throws {
        let server = try Redirecting()
        let folder = try scratch("redirect")
        let wire = Wire(folder: folder, station: { server.address }, token: { "secret" }, cleartext: .loopback)
        let outcome = await wire.perform(request("/v1/hello"))
        guard case .answered(let answer) = outcome else { return XCTFail("\(outcome)") }
        XCTAssertEqual(answer.status, 307)
        XCTAssertEqual(server.asked.count, 1, "\(server.asked)")
        XCTAssertTrue(server.asked[0].lowercased().contains("authorization: bearer secret"))
    }

    @MainActor func testJoiningIsOfferedOnceAndCanBeSkipped() async throws {
        let walk = Walk(folder: try scratch("skip"))
        try await walk.begin()
        XCTAssertNotNil(walk.maybe("join"), walk.outline())
        try await walk.tap("skip-join")
        XCTAssertNil(walk.maybe("skip-join"), walk.outline())
        try await walk.leave()
        let again = Walk(folder: walk.folder)
        try await again.begin()
        XCTAssertNil(again.maybe("skip-join"), again.outline())
        try await again.tap("sending")
        try await again.tap("join")
        XCTAssertNotNil(again.maybe("field-code"), "it can still be done")
        try await again.leave()
    }

    @MainActor func testAScannedInvitationJoins() async throws {
        let walk = try await Walk.counting("scan")
        let site = try await walk.put { try $0.sites().sites[0].site }
        let station = try Station(folder: walk.folder.appendingPathComponent("station"))
        try await walk.show([.sending, .join])
        try await walk.tap("scan")
        try await walk.until("nothing scanned") { walk.desk.notice?.text == walk.desk.word("phone.scan-no") }
        walk.doubles.scanner.text = "https://elsewhere.example"
        try await walk.tap("notice")
        try await walk.tap("scan")
        try await walk.until("a refusal") { walk.doubles.haptics.felt == [.refused] }
        walk.doubles.scanner.text = "leafturn:join?v=1&address=\(station.address)&code=\(try station.invite(site))"
        try await walk.tap("scan")
        try await walk.until("all sent") { walk.desk.sending?.allSent == true }
        XCTAssertEqual(try station.check()["holes"] as? Int, 0)
        try await walk.leave()
    }

    /// Certificates are the station's own, made by it; the system of this machine is not asked, so it trusts none.
    @MainActor func testACertificateIsJudgedByTheCore() async throws {
        let walk = try await Walk.counting("trust")
        let home = "https://192.0.2.7:8787"
        let own = try Station.certificate(in: walk.folder.appendingPathComponent("one"))
        let other = try Station.certificate(in: walk.folder.appendingPathComponent("two"))
        @Sendable func seen(_ certificate: Data, trusted: Bool = false) -> CertificateSeen {
            CertificateSeen(address: home, certificate: certificate, systemTrusts: trusted)
        }
        let trust = Trust(core: walk.desk.core)
        let unknown = await trust.accepts(seen(own))
        XCTAssertFalse(unknown, "nothing was scanned")
        let byChain = await trust.accepts(seen(own, trusted: true))
        XCTAssertTrue(byChain, "what the system vouches for always works")
        let key = try await walk.put { try $0.judgeCertificate(seen: seen(own)).key }
        _ = try await walk.put { try $0.joinScanned(text: "leafturn:join?v=1&address=\(home)&code=BCD-FGH-JKL&key=\(key)") }
        let pinned = await trust.accepts(seen(own))
        XCTAssertTrue(pinned)
        await trust.answered(home, next: nil)
        let wrong = await trust.accepts(seen(other))
        XCTAssertFalse(wrong)
        try await walk.show([.sending])
        let why = try await walk.put { try $0.judgeCertificate(seen: seen(other)).why }
        XCTAssertTrue(walk.says(try XCTUnwrap(why)), walk.outline())
        let nothing = await trust.accepts(seen(Data("no certificate".utf8)))
        XCTAssertFalse(nothing, "what cannot be judged is refused")
        try await walk.leave()
    }

    /// A photo is left to the system; the app is gone when it ends; the app that the system starts takes the outcome.
    @MainActor func testATransferThatOutlivesTheAppFinishesTheJob() async throws {
        let walk = try await Walk.counting("background")
        let jpeg = try XCTUnwrap(Data(base64Encoded: Self.jpeg))
        let site = try await walk.put { core in
            let site = try core.sites().sites[0].site
            _ = try core.takePhotoOf(shows: .site(site: site), jpeg: jpeg)
            return site
        }
        let station = try Station(folder: walk.folder.appendingPathComponent("station"))
        walk.doubles.transfers.takes = true
        try await walk.show([.sending, .join])
        try walk.type("field-station", station.address)
        try walk.type("field-code", try station.invite(site))
        try await walk.tap("join-now")
        try await walk.until("a request for the system") { !walk.doubles.transfers.taken.isEmpty && !walk.desk.busy }
        let taken = walk.doubles.transfers.taken[0]
        XCTAssertNotEqual(walk.desk.sending?.allSent, true, "nothing is said to be sent that was only handed over")
        guard case .file(let name) = taken.body else { return XCTFail("\(taken.body)") }
        XCTAssertTrue(name.hasPrefix("outgoing/"), "\(name) is not named relative to the journal")
        let journal = walk.folder.appendingPathComponent("journal")
        XCTAssertTrue(FileManager.default.fileExists(atPath: journal.appendingPathComponent(name).path), name)
        try await walk.leave()

        // The system's part, without the app.
        let kept = FileKeeping(folder: walk.folder.appendingPathComponent("kept"))
        let address = station.address
        let wire = Wire(folder: journal, station: { address }, token: { kept.token() }, cleartext: .loopback)
        let outcome = await wire.perform(taken)

        let again = Walk(folder: walk.folder)
        try await again.begin()
        again.desk.transferEnded(taken.id, outcome)
        try await again.until("all sent") { again.desk.sending?.allSent == true && !again.desk.busy }
        XCTAssertFalse(FileManager.default.fileExists(atPath: journal.appendingPathComponent(name).path), "its body file is gone")
        // The same again, as a system may: an outcome of a request that is unknown by now is passed over.
        again.desk.transferEnded(taken.id, .failed)
        try await again.until("still all sent") { again.desk.sending?.allSent == true && !again.desk.busy }
        try await again.leave()
    }

    /// Before the first unlock the journal cannot be read: that is said, nothing is set aside, and it works afterwards.
    @MainActor func testBeforeTheFirstUnlockIsLaterAndNeverDamaged() async throws {
        let before = try await Walk.counting("locked")
        try await before.tap("tile-egg")
        try await before.leave()
        let locked = Lock()
        let walk = Walk(folder: before.folder, gate: { if locked.holds { throw Failure.TryAgain(text: "invented: later") } })
        try await walk.begin()
        XCTAssertEqual(walk.desk.notice?.text, "invented: later")
        XCTAssertTrue(walk.tagged("site-").isEmpty)
        locked.holds = false
        try await walk.begin()
        try await walk.tap("go-on")
        XCTAssertEqual(walk.number("egg"), 1)
        let files = try FileManager.default.contentsOfDirectory(atPath: walk.folder.appendingPathComponent("journal").path)
        XCTAssertTrue(files.allSatisfy { !$0.contains("aside") }, "\(files)")
        try await walk.leave()
    }

    private final class Lock: @unchecked Sendable {
        private let lock = NSLock()
        private var held = true
        var holds: Bool {
            get { lock.withLock { held } }
            set { lock.withLock { held = newValue } }
        }
    }

    /// An invented picture: 16 × 16 grey.
    private static let jpeg =
        "/9j/4AAQSkZJRgABAQAAAQABAAD/2wBDAKBueIx4ZKCMgoy0qqC+8P//8Nzc8P//////////////////////////////////////////////////////"
        + "////wAALCAAQABABAREA/8QAHwAAAQUBAQEBAQEAAAAAAAAAAAECAwQFBgcICQoL/8QAtRAAAgEDAwIEAwUFBAQAAAF9AQIDAAQRBRIhMUEGE1Fh"
        + "ByJxFDKBkaEII0KxwRVS0fAkM2JyggkKFhcYGRolJicoKSo0NTY3ODk6Q0RFRkdISUpTVFVWV1hZWmNkZWZnaGlqc3R1dnd4eXqDhIWGh4iJipKT"
        + "lJWWl5iZmqKjpKWmp6ipqrKztLW2t7i5usLDxMXGx8jJytLT1NXW19jZ2uHi4+Tl5ufo6erx8vP09fb3+Pn6/9oACAEBAAA/AJKKKK//2Q=="
}
