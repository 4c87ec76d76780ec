package leafturn.phone

import android.graphics.Color
import android.graphics.Rect
import android.view.Gravity
import android.view.View
import android.view.accessibility.AccessibilityNodeInfo
import android.widget.CompoundButton
import android.widget.EditText
import android.widget.ScrollView
import android.widget.TextView
import kotlin.math.pow
import leafturn.phone.look.Look
import leafturn.phone.look.TileView

/** Walks over a screen and finds what would make it hard to use. */
class Inspector(private val walk: Walk, private val fontScale: Float) {
    private val look = walk.home.look
    private val shown = walk.views().filter { it.isShown }
    private val targets = shown.filter { it.isClickable && it.tag != "notice" && it !is ScrollView }

    fun faults(): List<String> =
        targets.flatMap(::ofTarget) + targets.flatMap(::spoken) + order() + pairs().flatMap(::ofPair) + shown.filterIsInstance<TextView>().flatMap(::ofText) +
            shown.filterIsInstance<TileView>().flatMap(::ofTile) + placement()

    private fun ofTarget(view: View): List<String> {
        val least = look.dp(Look.TARGET) - 1
        val small = view.width < least || view.height < least
        val unnamed = view.contentDescription.isNullOrBlank() && (view as? TextView)?.text.isNullOrBlank() &&
            (view !is EditText || shown.none { it.labelFor == view.id })
        return listOfNotNull(
            "${name(view)} is ${view.width} x ${view.height}, at least $least is wanted".takeIf { small },
            "${name(view)} says nothing to a screen reader".takeIf { unnamed },
        )
    }

    /** What assistive technology is told: a role that it knows, a name, and a value where there is one. */
    private fun spoken(view: View): List<String> {
        val info = AccessibilityNodeInfo.obtain()
        view.onInitializeAccessibilityNodeInfo(info)
        val role = info.className?.toString()
        val valued = view is TileView || view is CompoundButton
        val value = view.stateDescription?.toString().orEmpty().isNotBlank() || info.isCheckable
        return listOfNotNull(
            "${name(view)} has no role that is known: $role".takeIf { role !in ROLES },
            "${name(view)} says no value".takeIf { valued && !value },
            "${name(view)} cannot be reached by focus".takeIf { !view.isFocusable && view.isEnabled },
            "${name(view)} takes no click".takeIf { info.actionList.none { it.id == AccessibilityNodeInfo.ACTION_CLICK } && view.isEnabled },
        )
    }

    /** One after another in the order in which they are read: downwards, and within a row along the line of writing. */
    private fun order(): List<String> = targets.zipWithNext().filter { (one, next) -> sameScroll(one, next) }.mapNotNull { (one, next) ->
        val (here, there) = walk.bounds(one) to walk.bounds(next)
        val sameRow = here.top < there.bottom && there.top < here.bottom
        val along = if (one.layoutDirection == View.LAYOUT_DIRECTION_RTL) here.left >= there.right else there.left >= here.right
        "${name(next)} is reached after ${name(one)}, and stands before it".takeIf { if (sameRow) !along else there.top < here.top }
    }

    private fun pairs() = targets.flatMapIndexed { at, one -> targets.drop(at + 1).map { one to it } }

    private fun ofPair(pair: Pair<View, View>): List<String> {
        val (one, other) = pair
        val gap = (if (one is EditText || other is EditText) Look.GAP / 2 else Look.GAP) / 2
        val wide = Rect(walk.bounds(one)).apply { inset(-look.dp(gap) + 1, -look.dp(gap) + 1) }
        val near = Rect(walk.bounds(other)).apply { inset(-look.dp(gap) + 1, -look.dp(gap) + 1) }
        return listOf("${name(one)} and ${name(other)} are too close").filter { sameScroll(one, other) && Rect.intersects(wide, near) }
    }

    private fun ofText(view: TextView): List<String> {
        val layout = view.layout ?: return listOf("${name(view)} is not laid out").filter { view.text.isNotEmpty() }
        val height = view.height - view.compoundPaddingTop - view.compoundPaddingBottom
        val width = view.width - view.compoundPaddingLeft - view.compoundPaddingRight
        val cut = (0 until layout.lineCount).any { layout.getEllipsisCount(it) > 0 || layout.getLineMax(it) > width + 1 }
        val broken = (1 until layout.lineCount).any { line ->
            val start = layout.getLineStart(line)
            view.text[start - 1].isLetter() && view.text[start].isLetter()
        }
        val middle = Gravity.getAbsoluteGravity(view.gravity, view.layoutDirection) and Gravity.HORIZONTAL_GRAVITY_MASK == Gravity.CENTER_HORIZONTAL
        val fromRight = view.layoutDirection == View.LAYOUT_DIRECTION_RTL
        val apart = (0 until layout.lineCount).maxOfOrNull { if (fromRight) layout.width - layout.getLineRight(it) else layout.getLineLeft(it) } ?: 0f
        val least = look.dp(Look.SMALL) - 1
        return listOfNotNull(
            "${name(view)} is cut: ${layout.height} in $height".takeIf { layout.height > height + 1 || cut },
            "${name(view)} breaks inside a word".takeIf { broken },
            "${name(view)} does not begin where the screen begins: $apart away".takeIf { !middle && view !is EditText && apart > 1 },
            "${name(view)} has letters of ${view.textSize}, less than $least".takeIf { view.textSize < least },
            "${name(view)} has a contrast of ${contrast(view)}".takeIf { view.isEnabled && contrast(view) < 7.0 },
        )
    }

    private fun ofTile(view: TileView): List<String> =
        listOf("${name(view)} has its texts at ${view.squeezed} of the size wanted").filter { view.squeezed * fontScale < 1f }

    /** All of counting lies in the lower two thirds. */
    private fun placement(): List<String> {
        if (shown.none { it is TileView }) return listOf()
        val third = walk.home.frame.let { walk.bounds(it).top + it.height / 3 } - 1
        return targets.filter { walk.bounds(it).top < third }.map { "${name(it)} lies in the upper third" }
    }

    private fun sameScroll(one: View, other: View) = scrollOf(one) === scrollOf(other)

    private fun scrollOf(view: View): View? = generateSequence(view.parent as? View) { it.parent as? View }.firstOrNull { it is ScrollView }

    private fun contrast(view: TextView): Double {
        val strong = view.currentTextColor == look.colours.paper
        return contrast(view.currentTextColor, if (strong) look.colours.ink else look.colours.paper)
    }

    private fun name(view: View) = "${view.tag ?: (view as? TextView)?.text ?: view.javaClass.simpleName}" +
        if (view is CompoundButton) " (${view.text})" else ""

    companion object {
        private val ROLES = listOf("Button", "RadioButton", "CheckBox", "Switch", "EditText", "SeekBar").map { "android.widget.$it" }

        /** Contrast by the definition of W3C, Web Content Accessibility Guidelines 2.2. */
        fun contrast(one: Int, other: Int): Double {
            val (dark, light) = listOf(luminance(one), luminance(other)).sorted()
            return (light + 0.05) / (dark + 0.05)
        }

        private fun luminance(colour: Int): Double {
            fun linear(channel: Int): Double {
                val share = channel / 255.0
                return if (share <= 0.04045) share / 12.92 else ((share + 0.055) / 1.055).pow(2.4)
            }
            return 0.2126 * linear(Color.red(colour)) + 0.7152 * linear(Color.green(colour)) + 0.0722 * linear(Color.blue(colour))
        }
    }
}
