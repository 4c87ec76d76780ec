import Foundation
import LeafturnCore
import LeafturnModels
import Walking

/// A person in a process of its own, which is killed with SIGKILL while it counts through the views. After each act it
/// says what the screen shows; the rest of its life is a race against the kill.
@main struct Teller {
    @MainActor static func main() async throws {
        let walk = Walk(folder: URL(fileURLWithPath: CommandLine.arguments[1]))
        try await walk.begin()
        try await walk.tap("go-on")
        say(walk)
        while true {
            for tag in ["tile-larva2", "tile-larva2", "take-back"] {
                try await walk.tap(tag)
                say(walk)
            }
            try await walk.tap("undecided")
            try await walk.tap("undecided-egg+none")
            say(walk)
            try await walk.tap("next")
            say(walk)
        }
    }

    @MainActor private static func say(_ walk: Walk) {
        guard let shown = walk.desk.counting else { return }
        FileHandle.standardOutput.write(Data("shown: \(Scene.line(shown))\n".utf8))
    }
}
