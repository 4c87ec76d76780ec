import Foundation
import LeafturnCore

/// The records of the screens around counting, each as the core gave it.
public struct Sheets: Sendable {
    public internal(set) var practice: PracticeScreen?
    public internal(set) var practiceDrawing: Drawing?
    /// What was answered last, until the person goes on.
    public internal(set) var marks: PracticeMarks?
    public internal(set) var measure: MeasureScreen?
    public internal(set) var measuring = Strokes()
    public internal(set) var details: DetailsScreen?
    public internal(set) var outside: OutsideScreen?
    public internal(set) var weather: WeatherScreen?
    public internal(set) var visit: VisitScreen?
    public internal(set) var notes: NotesScreen?
    public internal(set) var matching: MatchScreen?
    /// How many of a stage both saw, by the pair and the stage: what was chosen and not yet saved.
    public internal(set) var both: [String: [String: Int]] = [:]
    public internal(set) var advice: AdviceScreen?
    public internal(set) var effort: EffortScreen?
    public internal(set) var closing: ClosingScreen?
    public internal(set) var forms: [Form.Name: Form] = [:]

    /// When what practice shows was there to be looked at.
    var practisedSince: ContinuousClock.Instant?
}

/// A photo to measure on, and what was drawn on it. The photo is for this alone: it is in no journal and in no file.
public struct Strokes: Equatable, Sendable {
    public enum Stroke: String, CaseIterable, Sendable { case animal, against }

    public internal(set) var photo: Data?
    public internal(set) var drawing = Stroke.animal
    /// In pixels of the photo.
    public internal(set) var points: [Stroke: [Point]] = [:]
    /// The coin that lies beside the animal; without one it is a ruler.
    public internal(set) var coin: UInt32?
    /// Where the point that is being dragged was taken hold of.
    var held: Point?
    /// What the lines measure as they are, or what is missing, in the core's words.
    public internal(set) var said: String?

    public func line(_ stroke: Stroke) -> [Point] { points[stroke] ?? [] }
}
