package leafturn.phone.look

import android.content.Context
import android.graphics.Color
import android.graphics.drawable.Drawable
import android.graphics.drawable.GradientDrawable
import android.graphics.drawable.LayerDrawable
import android.graphics.drawable.StateListDrawable
import android.util.TypedValue
import leafturn.phone.Hand
import leafturn.phone.Theme
import kotlin.math.roundToInt

/**
 * How everything looks, decided once. Lengths are in dp, heights of letters in sp.
 *
 * Text has a contrast of 7 or more against its ground, edges 3 or more; `ContrastTest` computes them.
 */
class Look(val context: Context, theme: Theme, val hand: Hand, private val words: Map<String, String>) {
    val colours = if (theme == Theme.LIGHT) Colours.LIGHT else Colours.DARK

    /** A fixed word of the core. */
    fun word(id: String): String = words[id] ?: id

    fun dp(length: Int): Int = (length * context.resources.displayMetrics.density).roundToInt()

    fun sp(height: Int): Float =
        TypedValue.applyDimension(TypedValue.COMPLEX_UNIT_SP, height.toFloat(), context.resources.displayMetrics)

    /** A box with an edge, as every control has; it darkens while it is pressed. */
    fun box(strong: Boolean = false): Drawable {
        val ground = if (strong) colours.ink else colours.paper
        return StateListDrawable().apply {
            addState(intArrayOf(android.R.attr.state_pressed), shape(if (strong) colours.quiet else colours.pressed, colours.ink))
            addState(intArrayOf(-android.R.attr.state_enabled), shape(colours.paper, colours.edge))
            addState(intArrayOf(android.R.attr.state_focused), LayerDrawable(arrayOf(shape(ground, colours.ink, FOCUS))))
            addState(intArrayOf(), shape(ground, colours.ink))
        }
    }

    private fun shape(ground: Int, edge: Int, width: Int = EDGE) = GradientDrawable().apply {
        setColor(ground)
        setStroke(dp(width), edge)
        cornerRadius = dp(CORNER).toFloat()
    }

    companion object {
        /** Least side of anything that is tapped. */
        const val TARGET = 64

        /** Between two targets, and between content and the edge of the screen. */
        const val GAP = 8
        const val MARGIN = 16
        const val EDGE = 2
        const val FOCUS = 4
        const val CORNER = 6

        const val NUMBER = 34
        const val TITLE = 28
        const val BUTTON = 20
        const val BODY = 18
        const val SMALL = 16
    }
}

/** The few colours. */
data class Colours(val paper: Int, val ink: Int, val quiet: Int, val edge: Int, val pressed: Int) {
    companion object {
        val LIGHT = Colours(
            paper = Color.WHITE,
            ink = Color.rgb(0x11, 0x11, 0x11),
            quiet = Color.rgb(0x4A, 0x4A, 0x4A),
            edge = Color.rgb(0x80, 0x80, 0x80),
            pressed = Color.rgb(0xD6, 0xD6, 0xD6),
        )
        val DARK = Colours(
            paper = Color.rgb(0x11, 0x11, 0x11),
            ink = Color.WHITE,
            quiet = Color.rgb(0xC8, 0xC8, 0xC8),
            edge = Color.rgb(0x8A, 0x8A, 0x8A),
            pressed = Color.rgb(0x44, 0x44, 0x44),
        )
    }
}
