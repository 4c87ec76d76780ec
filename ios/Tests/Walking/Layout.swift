import SwiftUI

/// A node with its place on the screen, in points from the upper left.
@MainActor public final class Laid {
    public let node: Node
    public let frame: CGRect
    public let children: [Laid]
    /// The share of the wanted height at which a text fits.
    public let squeezed: CGFloat
    /// Not all of a text can be seen.
    public let cut: Bool
    /// A word breaks within.
    public let torn: Bool

    init(_ node: Node, _ frame: CGRect, _ children: [Laid] = [], squeezed: CGFloat = 1, cut: Bool = false, torn: Bool = false) {
        self.node = node
        self.frame = frame
        self.children = children
        self.squeezed = squeezed
        self.cut = cut
        self.torn = torn
    }

    public var all: [Laid] { [self] + children.flatMap(\.all) }
}

/// A small layout of our own after the rules that Apple describes for stacks and frames: parents propose, children choose,
/// the least flexible ones first. It is a schema: letters have the widths of a common sans serif, not of Apple's.
@MainActor public enum Layout {
    struct Room: Hashable { var width: CGFloat?, height: CGFloat? }

    /// Sizes asked for in this layout: stacks ask the same thing of the same child again and again.
    private struct Asked: Hashable {
        let node: ObjectIdentifier
        let room: Room
    }
    private static var answers: [Asked: CGSize] = [:]

    /// Lays a screen out. What scrolls keeps its full length: it is reached by scrolling.
    public static func lay(_ node: Node, in size: CGSize) -> Laid {
        answers = [:]
        defer { answers = [:] }
        return place(node, CGRect(origin: .zero, size: size))
    }

    // MARK: Sizes

    static func size(_ node: Node, _ room: Room) -> CGSize {
        let asked = Asked(node: ObjectIdentifier(node), room: room)
        if let known = answers[asked] { return known }
        let size = answer(node, room)
        answers[asked] = size
        return size
    }

    private static func answer(_ node: Node, _ room: Room) -> CGSize {
        switch node.kind {
        case .text(let text, let height, let bold, let lines, let least):
            return Letters.fit(text, height: height, bold: bold, lines: lines, least: least, in: room).size
        case .image(_, let height): return CGSize(width: height * 1.2, height: height * 1.2)
        case .progress: return CGSize(width: 20, height: 20)
        case .button, .group, .toggle: return stacked(node.children, .depth, 0, room)
        case .field:
            let inside = stacked(node.children, .depth, 0, room)
            return CGSize(width: room.width ?? max(inside.width, 80), height: max(inside.height, 24))
        case .stack(let axis, let spacing, _): return stacked(node.children, axis, spacing ?? 8, room)
        case .scroll:
            let inside = size(node.children[0], Room(width: room.width, height: nil))
            return CGSize(width: room.width ?? inside.width, height: room.height ?? inside.height)
        case .canvas, .shape, .photo: return CGSize(width: room.width ?? 10, height: room.height ?? 10)
        case .spacer(let least): return CGSize(width: max(room.width ?? least, least), height: max(room.height ?? least, least))
        case .frame(let frame): return framed(node, frame, room)
        case .padding(let by):
            let inside = size(node.children[0], less(room, by))
            return CGSize(width: inside.width + by.leading + by.trailing, height: inside.height + by.top + by.bottom)
        case .position:
            let own = size(node.children[0], room)
            return CGSize(width: room.width ?? own.width, height: room.height ?? own.height)
        case .background, .overlay: return size(node.children[0], room)
        case .bottom, .navigation: return CGSize(width: room.width ?? 0, height: room.height ?? 0)
        }
    }

    private static func framed(_ node: Node, _ frame: Node.Frame, _ room: Room) -> CGSize {
        let inner = inside(frame, room)
        let own = size(node.children[0], inner)
        func side(_ fixed: CGFloat?, _ least: CGFloat?, _ most: CGFloat?, _ proposed: CGFloat?, _ own: CGFloat) -> CGFloat {
            if let fixed { return fixed }
            var length = own
            if let most { length = min(max(proposed ?? own, least ?? own), most) } else if let least { length = max(own, least) }
            return most == nil ? length : max(length, least ?? 0)
        }
        return CGSize(
            width: side(frame.width, frame.minWidth, frame.maxWidth, room.width, own.width),
            height: side(frame.height, frame.minHeight, frame.maxHeight, room.height, own.height))
    }

    private static func inside(_ frame: Node.Frame, _ room: Room) -> Room {
        func side(_ fixed: CGFloat?, _ least: CGFloat?, _ most: CGFloat?, _ proposed: CGFloat?) -> CGFloat? {
            if let fixed { return fixed }
            guard var length = proposed else { return nil }
            if let most { length = min(length, most) }
            if let least { length = max(length, least) }
            return length
        }
        return Room(
            width: side(frame.width, frame.minWidth, frame.maxWidth, room.width),
            height: side(frame.height, frame.minHeight, frame.maxHeight, room.height))
    }

    private static func less(_ room: Room, _ by: EdgeInsets) -> Room {
        Room(width: room.width.map { max($0 - by.leading - by.trailing, 0) }, height: room.height.map { max($0 - by.top - by.bottom, 0) })
    }

    private static func stacked(_ children: [Node], _ axis: Node.Axis, _ spacing: CGFloat, _ room: Room) -> CGSize {
        let sizes = parts(children, axis, spacing, room)
        guard !sizes.isEmpty else { return .zero }
        let gaps = CGFloat(sizes.count - 1) * spacing
        let widest = sizes.map(\.width).max() ?? 0
        let highest = sizes.map(\.height).max() ?? 0
        switch axis {
        case .horizontal: return CGSize(width: sizes.map(\.width).reduce(gaps, +), height: highest)
        case .vertical: return CGSize(width: widest, height: sizes.map(\.height).reduce(gaps, +))
        case .depth: return CGSize(width: widest, height: highest)
        }
    }

    /// The sizes of the children of a stack: the least flexible is asked first, each with an equal share of what is left.
    private static func parts(_ children: [Node], _ axis: Node.Axis, _ spacing: CGFloat, _ room: Room) -> [CGSize] {
        guard axis != .depth else { return children.map { size($0, room) } }
        let along: CGFloat? = axis == .horizontal ? room.width : room.height
        func ask(_ node: Node, _ length: CGFloat?) -> CGSize {
            size(node, axis == .horizontal ? Room(width: length, height: room.height) : Room(width: room.width, height: length))
        }
        func length(_ size: CGSize) -> CGFloat { axis == .horizontal ? size.width : size.height }
        guard let along else { return children.map { ask($0, nil) } }
        let give: [CGFloat] = children.map { child -> CGFloat in
            let most: CGFloat = length(ask(child, 10_000))
            let least: CGFloat = length(ask(child, 0))
            return most - least
        }
        let order: [Int] = Array(children.indices).sorted { (one: Int, other: Int) -> Bool in
            give[one] == give[other] ? one < other : give[one] < give[other]
        }
        var left = along - CGFloat(max(children.count - 1, 0)) * spacing
        var sizes = [CGSize](repeating: .zero, count: children.count)
        for (done, at) in order.enumerated() {
            sizes[at] = ask(children[at], max(left / CGFloat(children.count - done), 0))
            left -= length(sizes[at])
        }
        return sizes
    }

    // MARK: Places

    private static func place(_ node: Node, _ frame: CGRect) -> Laid {
        let room = Room(width: frame.width, height: frame.height)
        switch node.kind {
        case .text(let text, let height, let bold, let lines, let least):
            let fit = Letters.fit(text, height: height, bold: bold, lines: lines, least: least, in: room)
            return Laid(node, frame, squeezed: fit.share, cut: fit.cut, torn: fit.torn)
        case .button, .group, .toggle, .field:
            return Laid(node, frame, aligned(node.children, frame, .center))
        case .stack(.depth, _, let alignment): return Laid(node, frame, aligned(node.children, frame, alignment))
        case .stack(let axis, let spacing, let alignment):
            return Laid(node, frame, row(node.children, axis, spacing ?? 8, alignment, frame))
        case .scroll:
            let inside = size(node.children[0], Room(width: frame.width, height: nil))
            return Laid(
                node, frame, [place(node.children[0], CGRect(x: frame.minX, y: frame.minY, width: frame.width, height: inside.height))])
        case .frame(let own):
            let inside = size(node.children[0], self.inside(own, room))
            return Laid(node, frame, [place(node.children[0], set(inside, in: frame, own.alignment))])
        case .padding(let by):
            let inner = CGRect(
                x: frame.minX + by.leading, y: frame.minY + by.top, width: max(frame.width - by.leading - by.trailing, 0),
                height: max(frame.height - by.top - by.bottom, 0))
            return Laid(node, frame, [place(node.children[0], inner)])
        case .position(let at):
            let own = size(node.children[0], room)
            let from = CGPoint(x: frame.minX + at.x - own.width / 2, y: frame.minY + at.y - own.height / 2)
            return Laid(node, frame, [place(node.children[0], CGRect(origin: from, size: own))])
        case .background: return Laid(node, frame, [place(node.children[1], frame), place(node.children[0], frame)])
        case .overlay(let alignment):
            let above = size(node.children[1], room)
            return Laid(node, frame, [place(node.children[0], frame), place(node.children[1], set(above, in: frame, alignment))])
        case .bottom:
            let foot = size(node.children[1], Room(width: frame.width, height: nil))
            let above = CGRect(x: frame.minX, y: frame.minY, width: frame.width, height: max(frame.height - foot.height, 0))
            let below = CGRect(x: frame.minX, y: above.maxY, width: frame.width, height: foot.height)
            return Laid(node, frame, [place(node.children[0], above), place(node.children[1], below)])
        case .navigation:
            let page = CGRect(x: frame.minX, y: frame.minY + Node.bars, width: frame.width, height: max(frame.height - Node.bars, 0))
            let bar = CGRect(x: frame.minX, y: frame.minY + Node.bars - 44, width: 64, height: 44)
            return Laid(node, frame, [place(node.children[0], page)] + node.children.dropFirst().map { Laid($0, bar) })
        case .image, .photo, .progress, .canvas, .shape, .spacer: return Laid(node, frame)
        }
    }

    private static func aligned(_ children: [Node], _ frame: CGRect, _ alignment: Alignment) -> [Laid] {
        children.map { place($0, set(size($0, Room(width: frame.width, height: frame.height)), in: frame, alignment)) }
    }

    private static func row(_ children: [Node], _ axis: Node.Axis, _ spacing: CGFloat, _ alignment: Alignment, _ frame: CGRect) -> [Laid] {
        let sizes = parts(children, axis, spacing, Room(width: frame.width, height: frame.height))
        var at: CGFloat = axis == .horizontal ? frame.minX : frame.minY
        return zip(children, sizes).map { child, size in
            defer { at += (axis == .horizontal ? size.width : size.height) + spacing }
            if axis == .horizontal {
                let across = set(size, in: frame, Alignment(horizontal: .leading, vertical: alignment.vertical))
                return place(child, CGRect(x: at, y: across.minY, width: size.width, height: size.height))
            }
            let across = set(size, in: frame, Alignment(horizontal: alignment.horizontal, vertical: .top))
            return place(child, CGRect(x: across.minX, y: at, width: size.width, height: size.height))
        }
    }

    private static func set(_ size: CGSize, in frame: CGRect, _ alignment: Alignment) -> CGRect {
        let x: CGFloat =
            switch alignment.horizontal {
            case .leading: frame.minX
            case .center: frame.midX - size.width / 2
            case .trailing: frame.maxX - size.width
            }
        let y: CGFloat =
            switch alignment.vertical {
            case .top: frame.minY
            case .center: frame.midY - size.height / 2
            case .bottom: frame.maxY - size.height
            }
        return CGRect(x: x, y: y, width: size.width, height: size.height)
    }
}
