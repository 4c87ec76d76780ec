import LeafturnCore
import LeafturnModels
import SwiftUI

/// The first screen: the sites, what waits, and the way back to a visit that goes on.
struct SitesView: View {
    @Environment(Desk.self) private var desk
    let look: Look

    var body: some View {
        if let shown = desk.sites {
            Page(look, shown.title) {
                if let folding = shown.folding { QuietLine(look, folding) }
                if let none = shown.none { Line(look, none) }
                ForEach(shown.sites, id: \.site) { row in
                    Press(look, row.name, tag: "site-\(row.site)") { desk.go(.start(site: row.site)) }
                        .row([row.last, row.due, row.distance].compactMap { $0 }.joined(separator: ". "))
                }
                if shown.sites.count > 1 { Press(look, desk.word("phone.near"), tag: "near") { desk.nearest() }.row() }
                Press(look, desk.word("phone.add-site"), tag: "add-site") { desk.go(.addSite) }.row()
                if let join = desk.own.join, join.ask {
                    Heading(look, join.title)
                    QuietLine(look, join.lead)
                    Press(look, join.title, tag: "join") { desk.go(.join) }.row()
                    Press(look, desk.word("phone.skip"), tag: "skip-join") { desk.skipJoin() }.row()
                }
            } foot: {
                Press(look, desk.word("phone.settings"), tag: "settings") { desk.go(.settings) }
                Press(look, shown.waits, spoken: "\(desk.word("phone.send")). \(shown.waits)", tag: "sending") { desk.go(.sending) }
                if let goOn = shown.goOn { Press(look, goOn, tag: "go-on") { desk.go(.counting) }.made(strong: true) }
            }
        } else {
            Waiting(look: look)
        }
    }
}

/// Before a visit: who searches, how plants are chosen, who takes which. What repeats is chosen already.
struct StartView: View {
    @Environment(Desk.self) private var desk
    let look: Look

    var body: some View {
        if let shown = desk.start {
            Page(look, shown.name) {
                Heading(look, desk.word("phone.how-chosen"))
                ForEach(shown.protocols, id: \.`protocol`) { own in
                    ChoiceButton(look: look, text: own.name, tag: "protocol-\(own.`protocol`)", chosen: own.`protocol` == desk.chosen.proto)
                    {
                        desk.choose(protocol: own.`protocol`)
                    }
                    if own.`protocol` == desk.chosen.proto {
                        ForEach(own.lines, id: \.self) { QuietLine(look, $0) }
                    }
                }
                Heading(look, desk.word("phone.who"))
                ForEach(shown.observers, id: \.observer) { own in
                    ChoiceButton(
                        look: look, text: own.name, tag: "observer-\(own.observer)", chosen: desk.chosen.observers.contains(own.observer),
                        alone: false
                    ) { desk.toggle(observer: own.observer) }
                }
                DeskEntry(look: look, label: desk.word("phone.observer-name"), field: .observer)
                Press(look, desk.word("phone.add"), tag: "add-observer") { desk.addObserver() }.row()
                Heading(look, desk.word("phone.share"))
                ForEach(Self.shares, id: \.name) { own in
                    ChoiceButton(
                        look: look, text: desk.word("phone.share.\(own.name)"), tag: "share-\(own.name)",
                        chosen: own.share == desk.chosen.share
                    ) {
                        desk.choose(own.share)
                    }
                }
                if let effort = desk.sheets.effort {
                    Heading(look, effort.title)
                    QuietLine(look, effort.expected)
                    ForEach(Array(effort.lines.enumerated()), id: \.offset) { Line(look, $0.element) }
                }
                Press(look, desk.word("phone.outside"), tag: "outside") { desk.go(.outside(site: shown.site)) }.row()
                DeskEntry(look: look, label: desk.word("phone.beside"), field: .beside, keys: .asciiCapable, capitals: .never)
                Press(look, desk.word("phone.season"), tag: "season") { desk.go(.season(shown.site)) }.row()
                Press(look, desk.word("phone.site"), tag: "about-site") { desk.go(.site(shown.site)) }.row()
            } foot: {
                Press(look, desk.word("phone.begin"), tag: "begin") { desk.beginVisit() }.made(strong: true)
            }
        } else {
            Waiting(look: look)
        }
    }

    private struct Named {
        let name: String
        let share: ShareOfPlants
    }

    private static let shares: [Named] = [
        Named(name: "all", share: .all), Named(name: "odd", share: .odd), Named(name: "even", share: .even),
    ]
}
