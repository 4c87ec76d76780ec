import Foundation
import XCTest

/// Both shells name the same words of the core; where they differ, the reason stands here. Both shells' sources are read.
final class ParityTests: XCTestCase {
    /// Words that only Swift names, each with the reason.
    private static let onlySwift: [String: String] = [:]

    /// Words that only Kotlin names, each with the reason.
    private static let onlyKotlin: [String: String] = [:]

    func testBothShellsNameTheSameWords() throws {
        let swift = try ids(below: package.appendingPathComponent("Sources"), "swift")
        let kotlin = try ids(below: package.deletingLastPathComponent().appendingPathComponent("android/app/src/main/kotlin"), "kt")
        XCTAssertGreaterThan(swift.intersection(kotlin).count, 40)
        XCTAssertEqual(swift.subtracting(kotlin).sorted(), Self.onlySwift.keys.sorted(), "only Swift")
        XCTAssertEqual(kotlin.subtracting(swift).sorted(), Self.onlyKotlin.keys.sorted(), "only Kotlin")
        XCTAssertTrue((Array(Self.onlySwift.values) + Array(Self.onlyKotlin.values)).allSatisfy { !$0.isEmpty })
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
