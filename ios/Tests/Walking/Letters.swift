import SwiftUI

/// Widths of letters, roughly those of a common sans serif, as shares of their height: for a schema.
enum Letters {
    struct Fit {
        let size: CGSize
        let lines: [String]
        let share: CGFloat
        /// Not all of it can be seen.
        let cut: Bool
        /// A word is wider than the room, and breaks within.
        let torn: Bool
    }

    /// Height of a line against that of its letters.
    static let line: CGFloat = 1.2

    /// Breaks at spaces; takes a smaller height, down to `least`, where the lines or the room do not suffice.
    static func fit(_ text: String, height: CGFloat, bold: Bool, lines: Int?, least: CGFloat, in room: Layout.Room) -> Fit {
        var share: CGFloat = 1
        while true {
            let broken = broken(text, height * share, bold, room.width ?? .infinity)
            let wanted = CGFloat(broken.count) * height * share * line
            let widest = broken.map { width($0, height * share, bold) }.max() ?? 0
            let tooMany = lines.map { broken.count > $0 } ?? false
            let tooWide = room.width.map { widest > $0 + 0.5 } ?? false
            let tooHigh = room.height.map { wanted > $0 + 0.5 } ?? false
            if !(tooMany || tooWide || (tooHigh && least < 1)) || share <= least {
                let cut = share <= least && (tooMany || tooHigh || (tooWide && lines == 1))
                return Fit(
                    size: CGSize(width: min(widest, room.width ?? widest), height: wanted), lines: broken, share: share,
                    cut: cut && !text.isEmpty,
                    torn: tooWide && !text.isEmpty)
            }
            share = max(share - 0.05, least)
        }
    }

    static func width(_ text: String, _ height: CGFloat, _ bold: Bool) -> CGFloat {
        var shares: CGFloat = 0
        for letter in text { shares += share(of: letter) }
        let wider: CGFloat = bold ? 1.06 : 1
        return shares * height * wider
    }

    private static func broken(_ text: String, _ height: CGFloat, _ bold: Bool, _ room: CGFloat) -> [String] {
        guard !text.isEmpty else { return [] }
        return text.split(separator: "\n", omittingEmptySubsequences: false).flatMap { part -> [String] in
            var lines: [String] = []
            var now = ""
            for word in pieces(String(part)) {
                let longer = now + word
                if width(longer.trimmingCharacters(in: .whitespaces), height, bold) <= room + 0.5 || now.isEmpty {
                    now = longer
                } else {
                    lines.append(now.trimmingCharacters(in: .whitespaces))
                    now = word
                }
            }
            return lines + [now.trimmingCharacters(in: .whitespaces)]
        }
    }

    /// Words with what follows them; a line may break after a space, after a hyphen and at a zero-width space.
    private static func pieces(_ text: String) -> [String] {
        text.reduce(into: [""]) { all, letter in
            all[all.count - 1].append(letter)
            if letter == " " || letter == "-" || letter == "\u{200B}" { all.append("") }
        }
    }

    private static func share(of letter: Character) -> CGFloat {
        switch letter {
        case "\u{200B}": 0
        case "i", "j", "l", "I", "|", "'", "’", ".", ",", ":", ";", "!": 0.27
        case " ", "\u{A0}", "\u{202F}", "f", "t", "r", "(", ")", "-", "/": 0.33
        case "m", "w", "M", "W": 0.83
        case "A"..."Z", "É", "À": 0.67
        default: 0.54
        }
    }
}
