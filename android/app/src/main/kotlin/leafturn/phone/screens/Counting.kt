package leafturn.phone.screens

import android.util.TypedValue
import android.view.Gravity
import android.view.View
import android.view.ViewGroup.LayoutParams.MATCH_PARENT
import android.widget.Button
import android.widget.LinearLayout
import leafturn.core.CountingScreen
import leafturn.core.PhotoAsked
import leafturn.core.Tile
import leafturn.phone.Hand
import leafturn.phone.look.Look
import leafturn.phone.look.Press
import leafturn.phone.look.Specimen
import leafturn.phone.look.TileActs
import leafturn.phone.look.TileView
import leafturn.phone.look.button
import leafturn.phone.look.column
import leafturn.phone.look.heading
import leafturn.phone.look.text

interface CountingActs : TileActs {
    fun empty()

    fun next()

    fun takeBack()

    fun undecided()

    fun more()

    fun key()

    fun specimen(name: String): Specimen?
}

/**
 * The heart: a tile for each stage in scope, "empty", "next plant", "not sure" and undo, all in the lower two thirds and
 * never moving. [show] writes the whole screen from a record; nothing else changes it.
 */
class CountingView(private val look: Look, private val acts: CountingActs) {
    private val title = heading(look, "", Look.NUMBER)
    private val subtitle = text(look, "", Look.SMALL, look.colours.ink)
    private val progress = text(look, "", Look.SMALL, look.colours.quiet)
    private val pad = column(look)
    private val tiles = mutableListOf<TileView>()
    private val undecided = button(look, Press(look.word("phone.undecided"), tag = "undecided") { acts.undecided() })
    private val empty = button(look, Press(look.word("phone.empty"), look.word("phone.empty-spoken"), "empty") { acts.empty() })
    private val next = button(look, Press(look.word("phone.next"), look.word("phone.next-spoken"), "next") { acts.next() }, strong = true)
    private val takeBack = button(look, Press("", tag = "take-back") { acts.takeBack() })
    private val more = button(look, Press(look.word("phone.more"), tag = "more") { acts.more() })
    private val key = button(look, Press("?", look.word("phone.key"), "key") { acts.key() })
    private var laidOut = listOf<String>()

    val view: View = column(look).apply {
        setBackgroundColor(look.colours.paper)
        val head = column(look).apply {
            gravity = Gravity.CENTER_VERTICAL
            setPadding(look.dp(Look.MARGIN), look.dp(Look.GAP), look.dp(Look.MARGIN), 0)
            addView(title)
            addView(subtitle)
            addView(progress)
        }
        addView(head, LinearLayout.LayoutParams(MATCH_PARENT, 0, 1f))
        pad.setPadding(look.dp(Look.GAP), 0, look.dp(Look.GAP), look.dp(Look.GAP))
        addView(pad, LinearLayout.LayoutParams(MATCH_PARENT, 0, 2f))
    }

    init {
        listOf(undecided, empty, next).forEach { fitting(look, it, lines = 2, most = Look.BUTTON) }
        listOf(more, key).forEach { fitting(look, it, lines = 1, most = Look.BUTTON) }
        fitting(look, takeBack, lines = 3, most = Look.BODY)
        // Read at arm's length; where letters are large already, room for what stands below is worth more.
        title.setTextSize(TypedValue.COMPLEX_UNIT_PX, minOf(look.sp(Look.NUMBER), look.dp(LARGEST).toFloat()))
        title.accessibilityLiveRegion = View.ACCESSIBILITY_LIVE_REGION_POLITE
    }

    /** Writes the screen; a photo that is asked for stands where the species stood, and is one tap away. */
    fun show(shown: CountingScreen, photo: PhotoAsked?) {
        title.text = shown.title
        subtitle.text = photo?.text ?: shown.subtitle
        progress.text = shown.progress
        progress.visibility = if (photo == null) View.VISIBLE else View.GONE
        more.text = look.word(if (photo == null) "phone.more" else "phone.photo")
        more.contentDescription = photo?.text
        more.background = look.box(strong = photo != null)
        more.setTextColor(if (photo != null) look.colours.paper else look.colours.ink)
        layOut(shown.tiles)
        tiles.zip(shown.tiles).forEach { (view, tile) -> view.show(tile, acts.specimen(tile.drawing)) }
        empty.isEnabled = shown.empty != null
        empty.setTextColor(if (shown.empty != null) look.colours.ink else look.colours.quiet)
        takeBack.isEnabled = shown.takeBack != null
        takeBack.text = shown.takeBack?.text ?: look.word("phone.undo-nothing")
        takeBack.setTextColor(if (shown.takeBack != null) look.colours.ink else look.colours.quiet)
        undecided.contentDescription = doubts(shown)
    }

    private fun doubts(shown: CountingScreen): String {
        val counted = shown.undecided.filter { it.number > 0u }.map { it.announcement }
        return (listOf(look.word("phone.undecided")) + counted).joinToString(". ")
    }

    /** The pad is built once for its stages, and after that only written to, so that no target moves or loses focus. */
    private fun layOut(shown: List<Tile>) {
        val stages = shown.map { it.what }
        if (stages == laidOut) return
        laidOut = stages
        pad.removeAllViews()
        tiles.clear()
        tiles += shown.map { TileView(look, acts) }
        tiles.firstOrNull()?.let { row(EGG, listOf(it to 1f)) }
        tiles.drop(1).chunked(COLUMNS).forEach { cells ->
            val row = cells.map { it as View to 1f }
            row(LARVA, if (cells.size < COLUMNS) mirrored(row, listOf(undecided to 1f)) else row)
        }
        if (tiles.size % COLUMNS == 1) row(LARVA, listOf(undecided to 1f))
        row(MOVE, mirrored(listOf(empty to 1f), listOf(next to 1f)))
        row(MOVE, mirrored(listOf(takeBack to 2f), listOf(key to 1f, more to 1f)))
    }

    /** What is used most lies under the thumb: on the right for the right hand. Stages keep their order. */
    private fun mirrored(far: List<Pair<View, Float>>, near: List<Pair<View, Float>>) =
        if (look.hand == Hand.LEFT) near + far else far + near

    private fun row(weight: Float, cells: List<Pair<View, Float>>) {
        val row = LinearLayout(look.context)
        cells.forEachIndexed { at, (view, share) ->
            (view.parent as? LinearLayout)?.removeView(view)
            val params = LinearLayout.LayoutParams(0, MATCH_PARENT, share)
            if (at > 0) params.marginStart = look.dp(Look.GAP)
            row.addView(view, params)
        }
        val params = LinearLayout.LayoutParams(MATCH_PARENT, 0, weight)
        if (pad.childCount > 0) params.topMargin = look.dp(Look.GAP)
        pad.addView(row, params)
    }

    private companion object {
        const val COLUMNS = 3
        const val LARGEST = 44
        const val EGG = 1.14f
        const val LARVA = 1f
        const val MOVE = 0.93f
    }
}

/** A text that takes a smaller size where its button is too small for it, down to the size of small print. */
private fun fitting(look: Look, button: Button, lines: Int, most: Int) {
    button.maxLines = lines
    button.setPadding(button.paddingLeft / 2, 0, button.paddingRight / 2, 0)
    button.setAutoSizeTextTypeUniformWithConfiguration(
        look.dp(Look.SMALL), maxOf(look.sp(most).toInt(), look.dp(Look.SMALL) + 1), 1, TypedValue.COMPLEX_UNIT_PX,
    )
}
