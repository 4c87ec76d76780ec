import Foundation
import LeafturnCore

/// Measuring on a photo for a question of the key: points along the animal, then along what it is compared with. What they
/// measure, and whether they can, is the core's to say.
extension Desk {
    func openMeasure() { askHere({ try $0.measure() }) { $0.sheets.measure = $1 } }

    public func measured(by character: String) -> MeasureQuestion? {
        sheets.measure?.questions.first { $0.question.character == character }
    }

    public func takePhotoToMeasure(_ character: String) {
        Task {
            guard let jpeg = await device.camera.take() else { return say(word("phone.no-camera")) }
            sheets.measuring = Strokes()
            sheets.measuring.photo = jpeg
            measureLines(character)
        }
    }

    public func draw(_ stroke: Strokes.Stroke) { sheets.measuring.drawing = stroke }

    /// The most points that a line takes; a scale has two ends.
    public func most(_ stroke: Strokes.Stroke, _ character: String) -> Int {
        guard let screen = sheets.measure, let question = measured(by: character) else { return 0 }
        return stroke == .against && question.needsScale ? 2 : Int(screen.mostPoints)
    }

    /// Puts a point at the end of the line that is being drawn.
    public func put(_ point: Point, for character: String) {
        let stroke = sheets.measuring.drawing
        guard sheets.measuring.line(stroke).count < most(stroke, character) else { return }
        sheets.measuring.points[stroke, default: []].append(point)
        measureLines(character)
    }

    /// For those who cannot touch the photo: from the middle it is moved.
    public func putInTheMiddle(of photo: CGSize, for character: String) {
        put(Point(x: photo.width / 2, y: photo.height / 2), for: character)
    }

    /// Moves a point by so many pixels from where it was taken hold of; it stays on the photo.
    public func drag(_ at: Int, of stroke: Strokes.Stroke, by moved: CGSize, in photo: CGSize) {
        guard sheets.measuring.line(stroke).indices.contains(at) else { return }
        let from = sheets.measuring.held ?? sheets.measuring.line(stroke)[at]
        sheets.measuring.held = from
        sheets.measuring.points[stroke]?[at] = Point(
            x: min(max(from.x + moved.width, 0), photo.width), y: min(max(from.y + moved.height, 0), photo.height))
    }

    /// The point is where it is to be: what is measured is said.
    public func letGo(_ character: String) {
        sheets.measuring.held = nil
        measureLines(character)
    }

    public func takePointBack(_ character: String) {
        guard sheets.measuring.points[sheets.measuring.drawing]?.popLast() != nil else { return }
        measureLines(character)
    }

    public func choose(coin: UInt32?, for character: String) {
        sheets.measuring.coin = coin
        measureLines(character)
    }

    /// Says what the lines measure. What is missing yet is no refusal: it is said and not felt.
    public func measureLines(_ character: String) {
        let measuring = measuring(character)
        core.call({ try $0.measured(character: character, measuring: measuring) }) { [weak self] outcome in
            switch outcome {
            case .done(let line): self?.sheets.measuring.said = line.text
            case .failed(let failure): self?.sheets.measuring.said = failure.words
            }
        }
    }

    public func answerMeasured(_ character: String) {
        let measuring = measuring(character)
        ask({ try $0.answerMeasured(character: character, measuring: measuring) }) { desk, record in
            desk.sheets.measuring = Strokes()
            desk.end(.measure)
            desk.asked(record)
            desk.path = [.counting, .key]
        }
    }

    private func measuring(_ character: String) -> Measuring {
        let drawn = sheets.measuring
        return Measuring(line: drawn.line(.animal), against: against(drawn, measured(by: character)?.needsScale == true))
    }

    private func against(_ drawn: Strokes, _ needsScale: Bool) -> MeasuredAgainst {
        let line = drawn.line(.against)
        guard needsScale else { return .line(line: line) }
        let nowhere = Point(x: 0, y: 0)
        let lies = ScaleLies(from: line.first ?? nowhere, to: line.dropFirst().first ?? nowhere, samePlane: true, tiltDegrees: 0)
        if let coin = drawn.coin { return .coin(coin: coin, lies: lies) }
        let mm = Double(form(.measure).text("length").replacingOccurrences(of: ",", with: ".")) ?? 0
        return .marked(mm: mm, lies: lies)
    }
}
