import LeafturnCore
import LeafturnModels
import SwiftUI

/// A site's season: when to come again, what to expect, what was found and how sure that is.
struct SeasonView: View {
    @Environment(Desk.self) private var desk
    let look: Look

    var body: some View {
        if let shown = desk.own.season {
            Page(look, shown.title) {
                if let none = shown.none { Line(look, none) }
                if let again = shown.comeAgain {
                    Heading(look, again.title)
                    ForEach(Array(again.lines.enumerated()), id: \.offset) { Line(look, $0.element) }
                    ForEach(Array(again.assumed.enumerated()), id: \.offset) { QuietLine(look, $0.element) }
                }
                if !shown.expect.isEmpty { Heading(look, shown.expectTitle) }
                ForEach(Array(shown.expect.enumerated()), id: \.offset) { Line(look, $0.element) }
                ForEach(Array(shown.seasons.enumerated()), id: \.offset) { season in
                    Heading(look, season.element.title)
                    ForEach(season.element.drawings, id: \.self) { own in
                        if let drawing = desk.own.charts[own] {
                            FigureView(drawing: drawing).frame(height: Self.height(of: drawing))
                        }
                    }
                    ForEach(Array(season.element.lines.enumerated()), id: \.offset) { QuietLine(look, $0.element) }
                }
                QuietLine(look, shown.note)
            } foot: {
                Press(look, desk.word("phone.to-sites"), tag: "to-sites") { desk.goHome() }
            }
        } else {
            Waiting(look: look)
        }
    }

    /// A chart is as wide as the narrowest phone's page, in its own units; on wider ones it has a margin.
    private static func height(of drawing: Drawing) -> CGFloat { CGFloat(drawing.height) }
}
