import LeafturnCore
import LeafturnModels
import SwiftUI

/// The one window: the list of sites, and what lies above it.
public struct RootView: View {
    private let desk: Desk

    public init(desk: Desk) { self.desk = desk }

    public var body: some View {
        @Bindable var desk = desk
        let theme = desk.settings.theme
        let look = Look.of(theme)
        NavigationStack(path: $desk.path) {
            SitesView(look: look)
                .navigationDestination(for: Place.self) { place in
                    Destination(look: look, place: place)
                }
        }
        .environment(desk)
        .preferredColorScheme(theme == .dark ? .dark : .light)
        .tint(look.ink)
    }
}

private struct Destination: View {
    let look: Look
    let place: Place

    var body: some View {
        switch place {
        case .addSite: AddSiteView(look: look)
        case .start: StartView(look: look)
        case .counting: CountingView(look: look)
        case .undecided: UndecidedView(look: look)
        case .states: StatesView(look: look)
        case .hosts: HostsView(look: look)
        case .more: MoreView(look: look)
        case .keyStart: KeyStartView(look: look)
        case .key: KeyView(look: look)
        case .measure(let character): MeasureView(look: look, character: character)
        case .practice: PracticeView(look: look)
        case .details: DetailsView(look: look)
        case .weather: WeatherView(look: look)
        case .visit: VisitView(look: look)
        case .notes: NotesView(look: look)
        case .outside: OutsideView(look: look)
        case .advice: AdviceView(look: look)
        case .matching: MatchingView(look: look)
        case .review: ReviewView(look: look)
        case .sending: SendingView(look: look)
        case .join: JoinView(look: look)
        case .settings: SettingsView(look: look)
        case .cautions: CautionsView(look: look)
        case .mine: MineView(look: look)
        case .licences: LicencesView(look: look)
        case .site: SiteView(look: look)
        case .season: SeasonView(look: look)
        }
    }
}

/// What has to be said beside a screen. While counting it lies over the head, where nothing is tapped; it goes with a tap
/// or the next act.
struct NoticeView: View {
    @Environment(Desk.self) private var desk
    let look: Look

    var body: some View {
        if let notice = desk.notice {
            Button(action: { desk.takeNotice() }) {
                Text(verbatim: notice.text).font(.body).minimumScaleFactor(0.5).multilineTextAlignment(.leading)
                    .frame(maxWidth: .infinity, alignment: .leading)
            }
            .buttonStyle(BoxStyle(look: look, strong: true, leading: true))
            .accessibilityHint(Text(verbatim: desk.word("phone.close")))
            .accessibilityIdentifier("notice")
            .padding(Look.gap)
        }
    }
}
