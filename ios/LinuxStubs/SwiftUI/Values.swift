/// Apple: "Color" (SwiftUI), `init(_:red:green:blue:opacity:)` with its default colour space.
public struct Color: Sendable, Hashable {
    public enum RGBColorSpace: Sendable { case sRGB }
    public let red: Double, green: Double, blue: Double, alpha: Double
    public init(_ space: RGBColorSpace = .sRGB, red: Double, green: Double, blue: Double, opacity: Double = 1) {
        (self.red, self.green, self.blue, alpha) = (red, green, blue, opacity)
    }
    public static let clear = Color(red: 0, green: 0, blue: 0, opacity: 0)
    public static let white = Color(red: 1, green: 1, blue: 1)
    public static let black = Color(red: 0, green: 0, blue: 0)
}
extension Color: View, Primitive {
    public var body: Never { fatalError("has no body") }
    func nodes(in values: EnvironmentValues) -> [Node] {
        [Node(.shape(.rectangle, fill: self, line: nil, width: 0), [], values)]
    }
}

/// Apple: "ShapeStyle" (SwiftUI). Only colours here.
public protocol ShapeStyle: Sendable { var colour: Color { get } }
extension Color: ShapeStyle { public var colour: Color { self } }

/// Apple: "Font" (SwiftUI): the text styles, `bold()` and `monospacedDigit()`.
public struct Font: Sendable, Hashable {
    /// Height at the size "Large" as Apple's Human Interface Guidelines list it (page "Typography"), in points.
    public let size: CGFloat
    public var heavy = false
    public static let largeTitle = Font(size: 34), title = Font(size: 28), title2 = Font(size: 22), title3 = Font(size: 20)
    public static let headline = Font(size: 17, heavy: true), body = Font(size: 17), callout = Font(size: 16)
    public func bold() -> Font { Font(size: size, heavy: true) }
    public func monospacedDigit() -> Font { self }
    /// Apple: "system(size:weight:design:)" (Font): a height of its own, whatever the text size.
    public static func system(size: CGFloat, weight: Weight? = nil) -> Font { Font(size: size, heavy: weight == .bold) }
    public enum Weight: Sendable { case regular, bold }
}

/// Apple: "HorizontalAlignment", "VerticalAlignment" and "Alignment" (SwiftUI).
public enum HorizontalAlignment: Sendable { case leading, center, trailing }
public enum VerticalAlignment: Sendable { case top, center, bottom }
public struct Alignment: Sendable, Equatable {
    public let horizontal: HorizontalAlignment, vertical: VerticalAlignment
    public init(horizontal: HorizontalAlignment, vertical: VerticalAlignment) { (self.horizontal, self.vertical) = (horizontal, vertical) }
    public static let center = Alignment(horizontal: .center, vertical: .center)
    public static let leading = Alignment(horizontal: .leading, vertical: .center)
    public static let top = Alignment(horizontal: .center, vertical: .top)
    public static let topLeading = Alignment(horizontal: .leading, vertical: .top)
    public static let bottom = Alignment(horizontal: .center, vertical: .bottom)
}

/// Apple: "UnitPoint" (SwiftUI).
public struct UnitPoint: Sendable, Equatable {
    public let x: CGFloat, y: CGFloat
    public init(x: CGFloat, y: CGFloat) { (self.x, self.y) = (x, y) }
    public static let center = UnitPoint(x: 0.5, y: 0.5)
}

/// Apple: "TextAlignment" (SwiftUI).
public enum TextAlignment: Sendable { case leading, center, trailing }

/// Apple: "EdgeInsets" and "Edge.Set" (SwiftUI).
public struct EdgeInsets: Sendable, Equatable {
    public var top: CGFloat, leading: CGFloat, bottom: CGFloat, trailing: CGFloat
    public init(top: CGFloat, leading: CGFloat, bottom: CGFloat, trailing: CGFloat) {
        (self.top, self.leading, self.bottom, self.trailing) = (top, leading, bottom, trailing)
    }
}
public enum VerticalEdge: Sendable { case top, bottom }
public enum Edge: Sendable {
    public struct Set: OptionSet, Sendable {
        public let rawValue: Int
        public init(rawValue: Int) { self.rawValue = rawValue }
        public static let top = Set(rawValue: 1), leading = Set(rawValue: 2), bottom = Set(rawValue: 4), trailing = Set(rawValue: 8)
        public static let horizontal: Set = [.leading, .trailing], vertical: Set = [.top, .bottom]
        public static let all: Set = [.horizontal, .vertical]
    }
}

/// Apple: "AccessibilityTraits" (SwiftUI).
public struct AccessibilityTraits: SetAlgebra, Hashable, Sendable {
    private var inside: Set<Int>
    public init() { inside = [] }
    private init(_ own: Int) { inside = [own] }
    public static let isButton = Self(1), isHeader = Self(2), isSelected = Self(3), updatesFrequently = Self(4), isToggle = Self(5)
    public func contains(_ member: Self) -> Bool { member.inside.isSubset(of: inside) }
    public func union(_ other: Self) -> Self { var all = self; all.inside.formUnion(other.inside); return all }
    public func intersection(_ other: Self) -> Self { var all = self; all.inside.formIntersection(other.inside); return all }
    public func symmetricDifference(_ other: Self) -> Self { var all = self; all.inside.formSymmetricDifference(other.inside); return all }
    @discardableResult public mutating func insert(_ new: Self) -> (inserted: Bool, memberAfterInsert: Self) {
        let had = contains(new)
        inside.formUnion(new.inside)
        return (!had, new)
    }
    @discardableResult public mutating func remove(_ member: Self) -> Self? {
        guard contains(member) else { return nil }
        inside.subtract(member.inside)
        return member
    }
    @discardableResult public mutating func update(with new: Self) -> Self? { insert(new).inserted ? nil : new }
    public mutating func formUnion(_ other: Self) { self = union(other) }
    public mutating func formIntersection(_ other: Self) { self = intersection(other) }
    public mutating func formSymmetricDifference(_ other: Self) { self = symmetricDifference(other) }
}

/// Apple: "AccessibilityAdjustmentDirection", "AccessibilityChildBehavior" (SwiftUI).
public enum AccessibilityAdjustmentDirection: Sendable { case increment, decrement }
public struct AccessibilityChildBehavior: Hashable, Sendable {
    let own: Int
    public static let ignore = Self(own: 0), contain = Self(own: 1), combine = Self(own: 2)
}

/// Apple: "KeyPress", "KeyEquivalent" (SwiftUI).
public struct KeyEquivalent: Hashable, Sendable, ExpressibleByExtendedGraphemeClusterLiteral {
    public let character: Character
    public init(_ character: Character) { self.character = character }
    public init(extendedGraphemeClusterLiteral character: Character) { self.character = character }
    public static let delete = KeyEquivalent("\u{7F}")
}
public struct KeyPress: Sendable {
    public enum Result: Sendable { case handled, ignored }
    public struct Phases: OptionSet, Sendable {
        public let rawValue: Int
        public init(rawValue: Int) { self.rawValue = rawValue }
        public static let down = Phases(rawValue: 1)
    }
    public let key: KeyEquivalent
    /// For tests: with Apple the system makes it.
    public init(key: KeyEquivalent) { self.key = key }
}
