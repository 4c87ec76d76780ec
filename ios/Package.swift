// swift-tools-version: 6.0
import PackageDescription

// On a Mac the core comes as an XCFramework (build-xcframework), and SwiftUI from the system. On Linux, where the tests
// run, the core is the library built for the machine, and SwiftUI is a stand-in of ours (LinuxStubs): passing there means
// "consistent with our stand-in", not "compiles in Xcode".
#if os(Linux)
    let library = Context.environment["LEAFTURN_LIBRARY_FOLDER"] ?? "\(Context.packageDirectory)/../target/phone"
    let foreign: Target = .systemLibrary(name: "LeafturnCoreFFI", path: "target/core/LeafturnCoreFFI")
    let linked: [LinkerSetting] = [
        .unsafeFlags(["-L", library, "-lleafturn_phone", "-Xlinker", "-rpath", "-Xlinker", library]),
        // libswiftObservation of this version leaves a symbol open that nothing calls (swiftlang/swift#75670).
        .unsafeFlags(["-Xlinker", "--allow-shlib-undefined"]),
    ]
    let strict: [SwiftSetting] = [.unsafeFlags(["-warnings-as-errors"])]
    let ui: [Target.Dependency] = ["SwiftUI"]
    let onlyHere: [Target] = [
        .target(name: "SwiftUI", path: "LinuxStubs/SwiftUI", swiftSettings: strict),
        .target(
            name: "Walking", dependencies: ["LeafturnCore", "LeafturnModels", "LeafturnViews", "SwiftUI"],
            path: "Tests/Walking", swiftSettings: strict),
        .executableTarget(
            name: "Teller", dependencies: ["LeafturnCore", "LeafturnModels", "Walking"], path: "Tests/Teller",
            swiftSettings: strict),
        .executableTarget(
            name: "Bench", dependencies: ["LeafturnCore", "LeafturnModels"], path: "Tests/Bench",
            swiftSettings: strict),
        .testTarget(
            name: "LeafturnTests", dependencies: ["LeafturnCore", "LeafturnModels", "LeafturnViews", "Walking", "Teller"],
            swiftSettings: strict),
    ]
#else
    let foreign: Target = .binaryTarget(name: "LeafturnCoreFFI", path: "target/LeafturnCoreFFI.xcframework")
    let linked: [LinkerSetting] = []
    let strict: [SwiftSetting] = []
    let ui: [Target.Dependency] = []
    let onlyHere: [Target] = []
#endif

let package = Package(
    name: "LeafturnPhone",
    platforms: [.iOS(.v17)],
    products: [
        .library(name: "LeafturnViews", targets: ["LeafturnCore", "LeafturnModels", "LeafturnViews"])
    ],
    targets: [
        foreign,
        // Made by the build from the library and never edited.
        .target(
            name: "LeafturnCore", dependencies: ["LeafturnCoreFFI"], path: "target/core/LeafturnCore",
            swiftSettings: [.swiftLanguageMode(.v5)], linkerSettings: linked),
        .target(name: "LeafturnModels", dependencies: ["LeafturnCore"], swiftSettings: strict),
        .target(
            name: "LeafturnViews", dependencies: ["LeafturnCore", "LeafturnModels"] + ui, swiftSettings: strict),
    ] + onlyHere,
    swiftLanguageModes: [.v6]
)
