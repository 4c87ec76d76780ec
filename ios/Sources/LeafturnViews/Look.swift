import LeafturnCore
import LeafturnModels
import SwiftUI

/// How everything looks, decided once: the same lengths and colours as on the sister shell. Lengths in points; heights of
/// letters are the system's text styles, so that they follow the person's text size.
///
/// Text has a contrast of 7 or more against its ground, edges 3 or more; a test computes them.
public struct Look: Sendable {
    public let paper: Color, ink: Color, quiet: Color, edge: Color, pressed: Color

    public static let light = Look(
        paper: .white, ink: Self.grey(0x11), quiet: Self.grey(0x4A), edge: Self.grey(0x80), pressed: Self.grey(0xD6))
    public static let dark = Look(
        paper: Self.grey(0x11), ink: .white, quiet: Self.grey(0xC8), edge: Self.grey(0x8A), pressed: Self.grey(0x44))

    public static func of(_ theme: Theme) -> Look {
        switch theme {
        case .light: .light
        case .dark: .dark
        }
    }

    /// Least side of anything that is tapped.
    public static let target: CGFloat = 64
    /// Side of a grip on a photo: the least that Apple's Human Interface Guidelines ask for.
    public static let grip: CGFloat = 44
    /// Between two targets, and between content and the edge of the screen.
    public static let gap: CGFloat = 8
    public static let margin: CGFloat = 16
    static let edgeWidth: CGFloat = 2
    static let corner: CGFloat = 6
    static let inset: CGFloat = 12

    private static func grey(_ level: Int) -> Color {
        let share = Double(level) / 255
        return Color(red: share, green: share, blue: share)
    }
}

/// A box with an edge, as every control has; it darkens while it is pressed.
struct Box: View {
    let look: Look
    var strong = false
    var pressed = false
    var enabled = true

    var body: some View {
        RoundedRectangle(cornerRadius: Look.corner).fill(ground)
            .overlay { RoundedRectangle(cornerRadius: Look.corner).strokeBorder(enabled ? look.ink : look.edge, lineWidth: Look.edgeWidth) }
    }

    private var ground: Color {
        switch (strong && enabled, pressed) {
        case (true, false): look.ink
        case (true, true): look.quiet
        case (false, false): look.paper
        case (false, true): look.pressed
        }
    }
}

/// Every button of ours.
struct BoxStyle: ButtonStyle {
    let look: Look
    var strong = false
    var leading = false
    var fills = false
    var enabled = true

    func makeBody(configuration: Configuration) -> some View {
        configuration.label
            .foregroundStyle(ink)
            .padding(.horizontal, Look.inset)
            .padding(.vertical, Look.gap)
            .frame(
                minWidth: Look.target, maxWidth: .infinity, minHeight: Look.target, maxHeight: fills ? .infinity : nil,
                alignment: leading ? .leading : .center
            )
            .background { Box(look: look, strong: strong, pressed: configuration.isPressed, enabled: enabled) }
            .contentShape(Rectangle())
    }

    private var ink: Color {
        guard enabled else { return look.quiet }
        return strong ? look.paper : look.ink
    }
}

/// A button: what it says, what is spoken where that differs, what it does.
public struct Press: View {
    private let look: Look
    private let text: String
    private let spoken: String
    private let tag: String
    private var strong = false
    private var below: String?
    private var fills = false
    private var enabled = true
    private let does: @MainActor () -> Void

    public init(_ look: Look, _ text: String, spoken: String? = nil, tag: String, does: @escaping @MainActor () -> Void) {
        self.look = look
        self.text = text
        self.spoken = spoken ?? text
        self.tag = tag
        self.does = does
    }

    /// What is to be done next, as a rule.
    public func made(strong: Bool) -> Press { with { $0.strong = strong } }
    /// A row of a list, with a line below.
    public func row(_ below: String? = nil) -> Press { with { $0.below = below ?? "" } }
    /// As large as its place.
    public func filling() -> Press { with { $0.fills = true } }
    public func made(enabled: Bool) -> Press { with { $0.enabled = enabled } }

    public var body: some View {
        Button(action: does) {
            VStack(alignment: below == nil ? .center : .leading, spacing: 4) {
                Text(verbatim: text).font(.title3).lineLimit(fills ? 3 : nil).minimumScaleFactor(fills ? 0.35 : 1)
                    .multilineTextAlignment(below == nil ? .center : .leading)
                if let below, !below.isEmpty { Text(verbatim: below).font(.callout).multilineTextAlignment(.leading) }
            }
        }
        .buttonStyle(BoxStyle(look: look, strong: strong, leading: below != nil, fills: fills, enabled: enabled))
        .disabled(!enabled)
        .accessibilityLabel(Text(verbatim: [spoken, below ?? ""].filter { !$0.isEmpty }.joined(separator: ". ")))
        .accessibilityIdentifier(tag)
    }

    private func with(_ change: (inout Press) -> Void) -> Press {
        var own = self
        change(&own)
        return own
    }
}

/// One of several that exclude each other (a ring), or that do not (a square); filled where it is chosen.
struct ChoiceButton: View {
    @Environment(Desk.self) private var desk
    let look: Look
    let text: String
    let tag: String
    let chosen: Bool
    var alone = true
    let does: @MainActor () -> Void

    var body: some View {
        Button(action: does) {
            HStack(spacing: Look.inset) {
                Image(systemName: mark).font(.title2)
                Text(verbatim: text).font(.title3).multilineTextAlignment(.leading)
            }
        }
        .buttonStyle(BoxStyle(look: look, leading: true))
        .accessibilityLabel(Text(verbatim: text))
        .accessibilityValue(Text(verbatim: desk.word(chosen ? "phone.on-word" : "phone.off-word")))
        .accessibilityAddTraits(chosen ? [.isSelected] : [])
        .accessibilityIdentifier(tag)
    }

    private var mark: String {
        switch (alone, chosen) {
        case (true, true): "circle.inset.filled"
        case (true, false): "circle"
        case (false, true): "checkmark.square"
        case (false, false): "square"
        }
    }
}

struct Line: View {
    let look: Look
    let text: String

    init(_ look: Look, _ text: String) { (self.look, self.text) = (look, text) }

    var body: some View {
        Text(verbatim: text).font(.body).foregroundStyle(look.ink).multilineTextAlignment(.leading)
            .frame(maxWidth: .infinity, alignment: .leading)
    }
}

struct QuietLine: View {
    let look: Look
    let text: String

    init(_ look: Look, _ text: String) { (self.look, self.text) = (look, text) }

    var body: some View {
        Text(verbatim: text).font(.callout).foregroundStyle(look.quiet).multilineTextAlignment(.leading)
            .frame(maxWidth: .infinity, alignment: .leading)
    }
}

struct Heading: View {
    let look: Look
    let text: String

    init(_ look: Look, _ text: String) { (self.look, self.text) = (look, text) }

    var body: some View {
        Text(verbatim: text).font(.title3.bold()).foregroundStyle(look.ink).multilineTextAlignment(.leading)
            .frame(maxWidth: .infinity, alignment: .leading)
            .padding(.top, Look.gap)
            .accessibilityAddTraits(.isHeader)
    }
}

/// A screen to be read: its title above, its content in between, and what is pressed below, under the thumb.
struct Page<Content: View, Foot: View>: View {
    let look: Look
    let title: String
    let content: Content
    let foot: Foot

    init(_ look: Look, _ title: String, @ViewBuilder content: () -> Content, @ViewBuilder foot: () -> Foot) {
        self.look = look
        self.title = title
        self.content = content()
        self.foot = foot()
    }

    var body: some View {
        ScrollView {
            VStack(alignment: .leading, spacing: Look.gap) { content }
                .padding(.horizontal, Look.margin)
                .padding(.bottom, Look.margin)
        }
        .safeAreaInset(edge: .bottom, spacing: 0) {
            VStack(spacing: Look.gap) { foot }
                // Larger letters would push what is pressed out of the screen.
                .dynamicTypeSize(...DynamicTypeSize.accessibility2)
                .padding(.horizontal, Look.margin)
                .padding(.vertical, Look.gap)
                .background(look.paper)
        }
        .background(look.paper)
        .overlay(alignment: .top) { NoticeView(look: look) }
        .navigationTitle(Text(verbatim: title))
        .navigationBarTitleDisplayMode(.inline)
    }
}

/// Shown until the record of a screen has come; where it cannot be had, why, and a way to ask for it again.
struct Waiting: View {
    @Environment(Desk.self) private var desk
    let look: Look

    var body: some View {
        if let stuck = desk.stuck {
            ScrollView { Line(look, desk.notice == nil ? stuck : "").padding(Look.margin) }
                .safeAreaInset(edge: .bottom, spacing: 0) {
                    Press(look, desk.word("phone.try-again"), tag: "try-again") { desk.arrived() }.made(strong: true)
                        .dynamicTypeSize(...DynamicTypeSize.accessibility2)
                        .padding(Look.margin)
                        .background(look.paper)
                }
                .background(look.paper)
                .overlay(alignment: .top) { NoticeView(look: look) }
        } else {
            ProgressView()
                .frame(minWidth: 0, maxWidth: .infinity, minHeight: 0, maxHeight: .infinity)
                .background(look.paper)
                .overlay(alignment: .top) { NoticeView(look: look) }
        }
    }
}
