extension View {
    /// What is marked is one node: where the view is several, each of them.
    func marked(_ mark: @escaping @MainActor (Node) -> Void) -> Made {
        Made { values in
            let inside = SwiftUI.nodes(of: self, in: values)
            // A node of its own, so that what is said outside does not overwrite what is said inside.
            return inside.map { own in
                let node = Node(.group, [own], own.values)
                mark(node)
                return node
            }
        }
    }

    func wrapped(_ kind: Node.Kind) -> Made {
        Made { values in SwiftUI.nodes(of: self, in: values).map { Node(kind, [$0], values) } }
    }

    // MARK: Layout

    /// Apple: "frame(width:height:alignment:)" (View).
    public func frame(width: CGFloat? = nil, height: CGFloat? = nil, alignment: Alignment = .center) -> some View {
        wrapped(.frame(.init(width: width, height: height, alignment: alignment)))
    }

    /// Apple: "frame(minWidth:idealWidth:maxWidth:minHeight:idealHeight:maxHeight:alignment:)" (View).
    public func frame(
        minWidth: CGFloat? = nil, maxWidth: CGFloat? = nil, minHeight: CGFloat? = nil, maxHeight: CGFloat? = nil,
        alignment: Alignment = .center
    ) -> some View {
        wrapped(.frame(.init(minWidth: minWidth, maxWidth: maxWidth, minHeight: minHeight, maxHeight: maxHeight, alignment: alignment)))
    }

    /// Apple: "padding(_:)" and "padding(_:_:)" (View).
    public func padding(_ length: CGFloat) -> some View { padding(.all, length) }
    public func padding(_ edges: Edge.Set, _ length: CGFloat) -> some View {
        func on(_ edge: Edge.Set) -> CGFloat { edges.contains(edge) ? length : 0 }
        return wrapped(.padding(.init(top: on(.top), leading: on(.leading), bottom: on(.bottom), trailing: on(.trailing))))
    }

    /// Apple: "position(x:y:)" (View).
    public func position(x: CGFloat = 0, y: CGFloat = 0) -> some View { wrapped(.position(CGPoint(x: x, y: y))) }

    /// Apple: "background(alignment:content:)" and "background(_:ignoresSafeAreaEdges:)" (View).
    public func background<V: View>(@ViewBuilder content: @escaping () -> V) -> some View {
        Made { values in
            SwiftUI.nodes(of: self, in: values).map {
                Node(.background, [$0, Node.one(SwiftUI.nodes(of: content(), in: values), values)], values)
            }
        }
    }
    public func background<S: ShapeStyle>(_ style: S) -> some View { background { style.colour } }

    /// Apple: "overlay(alignment:content:)" (View).
    public func overlay<V: View>(alignment: Alignment = .center, @ViewBuilder content: @escaping () -> V) -> some View {
        Made { values in
            SwiftUI.nodes(of: self, in: values).map {
                Node(.overlay(alignment), [$0, Node.one(SwiftUI.nodes(of: content(), in: values), values)], values)
            }
        }
    }

    /// Apple: "safeAreaInset(edge:alignment:spacing:content:)" (View), for the bottom.
    public func safeAreaInset<V: View>(edge: VerticalEdge, spacing: CGFloat? = nil, @ViewBuilder content: @escaping () -> V) -> some View {
        Made { values in
            let page = Node.one(SwiftUI.nodes(of: self, in: values), values)
            return [Node(.bottom, [page, Node.one(SwiftUI.nodes(of: content(), in: values), values)], values)]
        }
    }

    // MARK: Looks

    /// Apple: "font(_:)", "bold(_:)", "lineLimit(_:)", "minimumScaleFactor(_:)", "multilineTextAlignment(_:)" (View).
    public func font(_ font: Font?) -> some View { changed { $0.font = font } }
    public func bold(_ isActive: Bool = true) -> some View { changed { $0.bold = isActive } }
    public func lineLimit(_ number: Int?) -> some View { changed { $0.lines = number } }
    public func minimumScaleFactor(_ factor: CGFloat) -> some View { changed { $0.least = factor } }
    public func multilineTextAlignment(_ alignment: TextAlignment) -> some View { self }

    /// Apple: "foregroundStyle(_:)", "tint(_:)", "opacity(_:)" (View).
    public func foregroundStyle<S: ShapeStyle>(_ style: S) -> some View { changed { $0.ink = style.colour } }
    public func tint<S: ShapeStyle>(_ style: S?) -> some View { self }
    public func opacity(_ opacity: Double) -> some View { marked { $0.opacity = opacity } }

    /// Apple: "preferredColorScheme(_:)", "dynamicTypeSize(_:)" (View).
    public func preferredColorScheme(_ scheme: ColorScheme?) -> some View { changed { if let scheme { $0.colorScheme = scheme } } }
    public func dynamicTypeSize(_ range: PartialRangeThrough<DynamicTypeSize>) -> some View {
        changed { $0.dynamicTypeSize = min($0.dynamicTypeSize, range.upperBound) }
    }

    /// Apple: "disabled(_:)" (View).
    public func disabled(_ disabled: Bool) -> some View { changed { $0.isEnabled = $0.isEnabled && !disabled } }

    // MARK: Typing. They change the keyboard and nothing that a tree shows.

    /// Apple: "keyboardType(_:)" (View) and "UIKeyboardType" (UIKit).
    public func keyboardType(_ type: UIKeyboardType) -> some View { self }
    /// Apple: "textInputAutocapitalization(_:)" (View).
    public func textInputAutocapitalization(_ autocapitalization: TextInputAutocapitalization?) -> some View { self }
    /// Apple: "autocorrectionDisabled(_:)" (View).
    public func autocorrectionDisabled(_ disable: Bool = true) -> some View { self }

    // MARK: Speaking

    /// Apple: "accessibilityElement(children:)" (View).
    public func accessibilityElement(children: AccessibilityChildBehavior = .ignore) -> some View { marked { $0.joined = children } }
    /// Apple: "accessibilityIdentifier(_:)" (View).
    public func accessibilityIdentifier(_ identifier: String) -> some View { marked { $0.identifier = identifier } }
    /// Apple: "accessibilityLabel(_:)", "accessibilityValue(_:)", "accessibilityHint(_:)" (View).
    public func accessibilityLabel(_ label: Text) -> some View { marked { $0.label = label.words } }
    public func accessibilityValue(_ value: Text) -> some View { marked { $0.value = value.words } }
    public func accessibilityHint(_ hint: Text) -> some View { marked { $0.hint = hint.words } }
    /// Apple: "accessibilityHidden(_:)" (View).
    public func accessibilityHidden(_ hidden: Bool) -> some View { marked { $0.hidden = hidden } }
    /// Apple: "accessibilityAddTraits(_:)" (View).
    public func accessibilityAddTraits(_ traits: AccessibilityTraits) -> some View { marked { $0.traits = traits } }
    /// Apple: "accessibilityAction(_:_:)" and "accessibilityAction(named:_:)" (View).
    public func accessibilityAction(_ handler: @escaping @MainActor () -> Void) -> some View { marked { $0.activate = $0.bound(handler) } }
    public func accessibilityAction(named name: Text, _ handler: @escaping @MainActor () -> Void) -> some View {
        marked { $0.named = [.init(name: name.words, act: $0.bound(handler))] }
    }
    /// Apple: "accessibilityAdjustableAction(_:)" (View).
    public func accessibilityAdjustableAction(_ handler: @escaping @MainActor (AccessibilityAdjustmentDirection) -> Void) -> some View {
        marked { $0.adjust = $0.bound(handler) }
    }
    /// Apple: "accessibilitySortPriority(_:)" (View).
    public func accessibilitySortPriority(_ priority: Double) -> some View { self }

    // MARK: Life

    /// Apple: "onAppear(perform:)" (View).
    public func onAppear(perform action: (@MainActor () -> Void)? = nil) -> some View {
        marked { if let action { $0.appear = [$0.bound(action)] } }
    }
}

/// Apple: "UIKeyboardType" (UIKit).
public enum UIKeyboardType: Sendable { case `default`, numbersAndPunctuation, URL, decimalPad, asciiCapable }

/// Apple: "TextInputAutocapitalization" (SwiftUI).
public struct TextInputAutocapitalization: Sendable {
    public static var never: Self { .init() }
    public static var characters: Self { .init() }
    public static var words: Self { .init() }
    public static var sentences: Self { .init() }
}
