import Foundation

/// Contact bounce, judged by the system's time of the touches and for each tile alone: two touches of one tile less than
/// 50 ms apart are one. Different tiles are always two acts.
public struct Touches: Sendable {
    /// Seconds.
    public static let bounce: TimeInterval = 0.05
    /// Points that a finger may slide and still mean the tile.
    public static let slip = 40.0

    private var down: [String: Date] = [:]
    private var lifted: [String: Date] = [:]

    public init() {}

    /// The tiles that are held down.
    public var pressed: Set<String> { Set(down.keys) }

    /// A finger is on a tile, and maybe moves.
    public mutating func touch(_ tile: String, at time: Date) {
        if down[tile] == nil { down[tile] = time }
    }

    /// It was lifted; whether that counts.
    public mutating func lift(_ tile: String, at time: Date, moved: CGSize) -> Bool {
        let began = down.removeValue(forKey: tile) ?? time
        let before = lifted.updateValue(time, forKey: tile)
        let bounced = before.map { began.timeIntervalSince($0) < Self.bounce } ?? false
        return !bounced && abs(moved.width) <= Self.slip && abs(moved.height) <= Self.slip
    }
}
