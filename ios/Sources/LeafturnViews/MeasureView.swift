import LeafturnCore
import LeafturnModels
import SwiftUI

/// A photo with two lines on it, and what the second one is; below it what they measure.
struct MeasureView: View {
    @Environment(Desk.self) private var desk
    let look: Look
    let character: String

    var body: some View {
        if let all = desk.sheets.measure {
            GeometryReader { room in
                Page(look, all.title) {
                    if let own = desk.measured(by: character) {
                        Line(look, own.question.text)
                        if let picture = desk.sheets.measuring.photo.flatMap({ Photo.of($0) }) {
                            board(picture, all, room.size)
                            strokes(picture)
                            if own.needsScale { scale(all) }
                        }
                    }
                    ForEach(all.lines, id: \.self) { QuietLine(look, $0) }
                } foot: {
                    UndoWhileCounting(look: look)
                    if desk.sheets.measuring.photo == nil {
                        photo.made(strong: true)
                    } else {
                        photo
                        Press(look, desk.word("phone.save"), tag: "answer-measured") { desk.answerMeasured(character) }.made(strong: true)
                    }
                }
            }
        } else {
            Waiting(look: look)
        }
    }

    private var photo: Press {
        Press(look, desk.word("phone.photo-take"), tag: "photo-take") { desk.takePhotoToMeasure(character) }
    }

    /// The photo is as wide as the page, but leaves room to scroll by.
    private func board(_ picture: UIImage, _ all: MeasureScreen, _ room: CGSize) -> some View {
        let scale = min((room.width - 2 * Look.margin) / picture.size.width, room.height * 0.5 / picture.size.height)
        return MeasureBoard(look: look, character: character, names: all.points, picture: picture, scale: scale)
            .frame(maxWidth: .infinity)
    }

    @ViewBuilder private func strokes(_ picture: UIImage) -> some View {
        if let said = desk.sheets.measuring.said { Heading(look, said) }
        ForEach(Strokes.Stroke.allCases, id: \.self) { own in
            ChoiceButton(
                look: look, text: desk.word("phone.measure-\(own.rawValue)"), tag: "stroke-\(own.rawValue)",
                chosen: desk.sheets.measuring.drawing == own
            ) { desk.draw(own) }
        }
        Press(look, desk.word("phone.measure-add"), tag: "point-add") { desk.putInTheMiddle(of: picture.size, for: character) }.row()
        Press(look, desk.word("phone.measure-point-back"), tag: "point-back") { desk.takePointBack(character) }.row()
    }

    @ViewBuilder private func scale(_ all: MeasureScreen) -> some View {
        ForEach(all.coins, id: \.coin) { own in
            ChoiceButton(look: look, text: own.label, tag: "coin-\(own.coin)", chosen: desk.sheets.measuring.coin == own.coin) {
                desk.choose(coin: own.coin, for: character)
            }
        }
        ChoiceButton(look: look, text: desk.word("phone.measure-ruler"), tag: "ruler", chosen: desk.sheets.measuring.coin == nil) {
            desk.choose(coin: nil, for: character)
        }
        if desk.sheets.measuring.coin == nil {
            FormEntry(
                look: look, form: .measure, field: "length", label: desk.word("phone.measure-length"), keys: .decimalPad,
                changed: { desk.measureLines(character) })
        }
    }
}

/// The photo, the lines drawn over it, and a grip for each point.
struct MeasureBoard: View {
    @Environment(Desk.self) private var desk
    let look: Look
    let character: String
    let names: [String]
    let picture: UIImage
    /// Points on the screen for one pixel of the photo.
    let scale: CGFloat

    private var size: CGSize { CGSize(width: picture.size.width * scale, height: picture.size.height * scale) }

    var body: some View {
        ZStack(alignment: .topLeading) {
            Image(uiImage: picture).resizable().frame(width: size.width, height: size.height)
                .onTapGesture(coordinateSpace: .local) { at in desk.put(onPhoto(at), for: character) }
                .accessibilityHidden(true)
            Canvas { context, _ in Strokes.Stroke.allCases.forEach { paint($0, &context) } }
                .allowsHitTesting(false)
                .accessibilityHidden(true)
            ForEach(grips, id: \.name) { own in
                MeasureGrip(
                    look: look, character: character, label: label(own), stroke: own.stroke, at: own.at, photo: picture.size, scale: scale
                )
                .position(x: held(own).x, y: held(own).y)
            }
        }
        .frame(width: size.width, height: size.height)
    }

    private struct Grip {
        let stroke: Strokes.Stroke
        let at: Int
        let point: Point
        var name: String { "\(stroke.rawValue)-\(at)" }
    }

    private var grips: [Grip] {
        Strokes.Stroke.allCases.flatMap { stroke in
            desk.sheets.measuring.line(stroke).enumerated().map { Grip(stroke: stroke, at: $0.offset, point: $0.element) }
        }
    }

    private func label(_ own: Grip) -> String {
        [desk.word("phone.measure-\(own.stroke.rawValue)"), names.indices.contains(own.at) ? names[own.at] : ""].joined(separator: ". ")
    }

    /// The grip hangs beside its point, so that the finger does not lie on what is measured.
    private func held(_ own: Grip) -> CGPoint {
        let at = onScreen(own.point)
        return CGPoint(x: at.x, y: at.y + (at.y > size.height / 2 ? -Self.away : Self.away))
    }

    private static let away: CGFloat = 34

    private func onPhoto(_ at: CGPoint) -> Point { Point(x: at.x / scale, y: at.y / scale) }

    private func onScreen(_ point: Point) -> CGPoint { CGPoint(x: point.x * scale, y: point.y * scale) }

    /// Dark below light, so that it is seen on any photo; the second line is dashed.
    private func paint(_ stroke: Strokes.Stroke, _ context: inout GraphicsContext) {
        let line = desk.sheets.measuring.line(stroke).map(onScreen)
        let dash: [CGFloat] = stroke == .animal ? [] : [6, 4]
        var path = Path()
        for (at, point) in line.enumerated() { if at == 0 { path.move(to: point) } else { path.addLine(to: point) } }
        var ends = Path()
        for point in line { ends.addEllipse(in: CGRect(x: point.x - 4, y: point.y - 4, width: 8, height: 8)) }
        for (colour, width) in [(Color.black, 5.0), (Color.white, 2.0)] {
            context.stroke(path, with: .color(colour), style: StrokeStyle(lineWidth: width, lineCap: .round, lineJoin: .round, dash: dash))
            context.stroke(ends, with: .color(colour), style: StrokeStyle(lineWidth: width))
        }
    }
}

/// A grip by which a point is dragged. To a screen reader it is adjustable, with an action for each direction.
struct MeasureGrip: View {
    @Environment(Desk.self) private var desk
    let look: Look
    let character: String
    let label: String
    let stroke: Strokes.Stroke
    let at: Int
    let photo: CGSize
    let scale: CGFloat

    var body: some View {
        RoundedRectangle(cornerRadius: Look.grip / 2).strokeBorder(look.paper, lineWidth: 3 * Look.edgeWidth)
            .overlay { RoundedRectangle(cornerRadius: Look.grip / 2).strokeBorder(look.ink, lineWidth: Look.edgeWidth) }
            .frame(width: Look.grip, height: Look.grip)
            .contentShape(Rectangle())
            .gesture(
                DragGesture(minimumDistance: 0)
                    .onChanged {
                        desk.drag(
                            at, of: stroke, by: CGSize(width: $0.translation.width / scale, height: $0.translation.height / scale),
                            in: photo)
                    }
                    .onEnded { _ in desk.letGo(character) }
            )
            .accessibilityElement(children: .ignore)
            .accessibilityLabel(Text(verbatim: label))
            .accessibilityValue(Text(verbatim: desk.sheets.measuring.said ?? ""))
            .accessibilityAdjustableAction { direction in
                switch direction {
                case .increment: step(1, 0)
                case .decrement: step(-1, 0)
                @unknown default: break
                }
            }
            .accessibilityAction(named: Text(verbatim: desk.word("phone.measure-left"))) { step(-1, 0) }
            .accessibilityAction(named: Text(verbatim: desk.word("phone.measure-right"))) { step(1, 0) }
            .accessibilityAction(named: Text(verbatim: desk.word("phone.measure-up"))) { step(0, -1) }
            .accessibilityAction(named: Text(verbatim: desk.word("phone.measure-down"))) { step(0, 1) }
            .accessibilityIdentifier("grip-\(stroke.rawValue)-\(at)")
    }

    /// A hundredth of the photo's width.
    private func step(_ right: CGFloat, _ down: CGFloat) {
        let by = photo.width / 100
        desk.drag(at, of: stroke, by: CGSize(width: right * by, height: down * by), in: photo)
        desk.letGo(character)
    }
}

/// The photo as the system decodes it: once, and not at every redrawing.
@MainActor enum Photo {
    private static var last: (jpeg: Data, picture: UIImage)?

    static func of(_ jpeg: Data) -> UIImage? {
        if let last, last.jpeg == jpeg { return last.picture }
        guard let picture = UIImage(data: jpeg), picture.size.width > 0, picture.size.height > 0 else { return nil }
        last = (jpeg, picture)
        return picture
    }
}
