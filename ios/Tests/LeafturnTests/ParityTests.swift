import Foundation
import XCTest

/// Both shells name the same words of the core; where they differ, the reason stands here. Both shells' sources are read.
final class ParityTests: XCTestCase {
    private static let onlySwift = reasons([
        "what VoiceOver says of a notice and of a choice; Android's own roles say it":
            ["phone.close", "phone.on-word", "phone.off-word"],
        "points on a photo are moved by named actions under VoiceOver":
            ["phone.measure-add", "phone.measure-left", "phone.measure-right", "phone.measure-up", "phone.measure-down"],
        "the system reads codes by its camera; without services of its maker Android does not":
            ["phone.scan", "phone.scan-no"],
        "the sister has the label from the record of its screen": ["phone.advice", "phone.match"],
        "the sister shows a refusal on the screen before, which is pressed again": ["phone.try-again"],
    ])

    private static let onlyKotlin = reasons([
        "the system leads back, shares, and stops a camera by itself": ["phone.back", "phone.no-share", "phone.photo-later"],
        "the system's background transfers take what is left, and show no notification":
            ["phone.notification", "phone.send-visible", "phone.send-when-network"],
        "here the record of the screen brings the label": ["phone.measure-animal", "phone.measure-against"],
        "here one text says it for every use of the place": ["phone.near-no"],
    ])

    private static func reasons(_ all: [String: [String]]) -> Set<String> { Set(all.values.joined()) }

    func testBothShellsNameTheSameWords() throws {
        let swift = try ids(below: package.appendingPathComponent("Sources"), "swift")
        let kotlin = try ids(below: package.deletingLastPathComponent().appendingPathComponent("android/app/src/main/kotlin"), "kt")
        print("measured: \(swift.intersection(kotlin).count) ids are named by both shells")
        XCTAssertGreaterThan(swift.intersection(kotlin).count, 60)
        XCTAssertEqual(swift.subtracting(kotlin).subtracting(Self.onlySwift).sorted(), [], "only Swift, without a reason")
        XCTAssertEqual(kotlin.subtracting(swift).subtracting(Self.onlyKotlin).sorted(), [], "only Kotlin, without a reason")
    }
}

/// The ids of words that sources below a folder name.
func ids(below folder: URL, _ ending: String) throws -> Set<String> {
    let files = try XCTUnwrap(FileManager.default.enumerator(atPath: folder.path)).compactMap { $0 as? String }
    let named = try NSRegularExpression(pattern: "\"((?:phone|cautions)\\.[a-z.-]*[a-z])\"")
    return try files.filter { $0.hasSuffix(".\(ending)") }.reduce(into: []) { all, file in
        let text = try String(contentsOf: folder.appendingPathComponent(file), encoding: .utf8)
        for hit in named.matches(in: text, range: NSRange(text.startIndex..., in: text)) {
            if let range = Range(hit.range(at: 1), in: text) { all.insert(String(text[range])) }
        }
    }
}
