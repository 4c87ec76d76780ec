package leafturn.phone.look

import android.annotation.SuppressLint
import android.graphics.Canvas
import android.graphics.Paint
import android.graphics.RectF
import android.graphics.Typeface
import android.os.Bundle
import android.view.MotionEvent
import android.view.View
import android.view.accessibility.AccessibilityNodeInfo
import leafturn.core.Tile

/** What may be done with a tile. */
interface TileActs {
    fun count(what: String)

    fun uncount(what: String)
}

/**
 * A counter: the whole of it counts one. It shows at once that it is pressed; its number changes when the core has
 * written the act. Two touches of it within 50 ms of the system's event time are one: the contact bounced.
 */
@SuppressLint("ViewConstructor")
class TileView(private val look: Look, private val acts: TileActs) : View(look.context) {
    private var tile: Tile? = null
    private var specimen: Specimen? = null
    private var lastLifted = -BOUNCE_MS
    private val plate = RectF()
    private val number = Paint(Paint.ANTI_ALIAS_FLAG).apply { typeface = Typeface.DEFAULT_BOLD }
    private val label = Paint(Paint.ANTI_ALIAS_FLAG)
    private val ground = Paint(Paint.ANTI_ALIAS_FLAG).apply { color = android.graphics.Color.WHITE }

    init {
        background = look.box()
        isFocusable = true
        isClickable = true
        minimumHeight = look.dp(Look.TARGET)
        minimumWidth = look.dp(Look.TARGET)
    }

    /** What the tile says of itself, for the tests that walk over the screen. */
    val shown: Tile? get() = tile

    /** Texts that did not fit at the size wanted, with the share that was left of it. */
    var squeezed = 1f
        private set

    fun show(tile: Tile, specimen: Specimen?) {
        this.specimen = specimen
        tag = "tile-${tile.what}"
        if (tile == this.tile) return
        this.tile = tile
        contentDescription = tile.label
        if (android.os.Build.VERSION.SDK_INT >= 30) stateDescription = spokenValue(tile)
        invalidate()
    }

    @SuppressLint("ClickableViewAccessibility")
    override fun onTouchEvent(event: MotionEvent): Boolean {
        when (event.actionMasked) {
            MotionEvent.ACTION_DOWN -> isPressed = true
            MotionEvent.ACTION_CANCEL -> isPressed = false
            MotionEvent.ACTION_UP -> {
                isPressed = false
                val inside = event.x >= 0 && event.y >= 0 && event.x < width && event.y < height
                val bounced = event.downTime - lastLifted < BOUNCE_MS
                lastLifted = event.eventTime
                if (inside && !bounced) performClick()
            }
        }
        return true
    }

    override fun performClick(): Boolean {
        super.performClick()
        tile?.let { acts.count(it.what) }
        return true
    }

    override fun onInitializeAccessibilityNodeInfo(info: AccessibilityNodeInfo) {
        super.onInitializeAccessibilityNodeInfo(info)
        val tile = tile ?: return
        info.className = "android.widget.SeekBar"
        info.contentDescription = tile.label
        if (android.os.Build.VERSION.SDK_INT < 30) info.contentDescription = "${tile.label}, ${spokenValue(tile)}"
        val most = maxOf(tile.number.toFloat() + 1, 1f)
        info.rangeInfo = AccessibilityNodeInfo.RangeInfo.obtain(
            AccessibilityNodeInfo.RangeInfo.RANGE_TYPE_INT, 0f, most, tile.number.toFloat(),
        )
        info.addAction(AccessibilityNodeInfo.AccessibilityAction.ACTION_SCROLL_FORWARD)
        info.addAction(AccessibilityNodeInfo.AccessibilityAction(ADD, look.word("phone.add-one")))
        if (tile.number > 0u) {
            info.addAction(AccessibilityNodeInfo.AccessibilityAction.ACTION_SCROLL_BACKWARD)
            info.addAction(AccessibilityNodeInfo.AccessibilityAction(TAKE_BACK, look.word("phone.take-back-short")))
        }
    }

    override fun performAccessibilityAction(action: Int, arguments: Bundle?): Boolean {
        val what = tile?.what ?: return false
        when (action) {
            ADD, AccessibilityNodeInfo.ACTION_SCROLL_FORWARD -> acts.count(what)
            TAKE_BACK, AccessibilityNodeInfo.ACTION_SCROLL_BACKWARD -> acts.uncount(what)
            else -> return super.performAccessibilityAction(action, arguments)
        }
        return true
    }

    override fun onDraw(canvas: Canvas) {
        super.onDraw(canvas)
        val tile = tile ?: return
        val pad = look.dp(Look.GAP).toFloat()
        number.color = look.colours.ink
        label.color = look.colours.ink
        val wide = width > height * 2
        val room = width - 2 * pad
        label.textSize = fitted(label, tile.label, look.sp(Look.SMALL), if (wide) room / 2 else room)
        val below = label.textSize * LINE
        val inner = height - 2 * pad - below
        val picture = specimen
        if (picture != null) {
            val side = if (wide) minOf(room * 0.4f, inner * 2.2f) else room * 0.52f
            plate.set(pad, pad, pad + side, pad + inner)
            if (layoutDirection == LAYOUT_DIRECTION_RTL) plate.offset(width - 2 * pad - side, 0f)
            canvas.drawRoundRect(plate, pad / 2, pad / 2, ground)
            picture.paint(canvas, plate)
        }
        val taken = if (picture == null) 0f else plate.width() + pad / 2
        number.textSize = fitted(number, tile.value, minOf(look.sp(Look.NUMBER), inner * 1.1f), room - taken)
        val middle = pad + taken + (room - taken) / 2
        number.textAlign = Paint.Align.CENTER
        label.textAlign = Paint.Align.CENTER
        val base = pad + inner / 2 - (number.ascent() + number.descent()) / 2
        canvas.drawText(tile.value, if (layoutDirection == LAYOUT_DIRECTION_RTL) width - middle else middle, base, number)
        canvas.drawText(tile.label, width / 2f, height - pad - label.descent(), label)
        if (tile.others.isNotEmpty()) marked(canvas, pad)
    }

    /** A bar that says: there are animals in other states, which "more" and the review name. */
    private fun marked(canvas: Canvas, pad: Float) =
        canvas.drawRect(pad, height - pad / 2 - look.dp(Look.EDGE), width - pad, height - pad / 2, label)

    private fun spokenValue(tile: Tile) = if (tile.others.isEmpty()) tile.value else "${tile.value}, ${tile.others}"

    /** The height at which a text fits into so much width. */
    private fun fitted(paint: Paint, text: String, wanted: Float, room: Float): Float {
        paint.textSize = wanted
        val width = paint.measureText(text)
        val share = if (width > room) room / width else 1f
        squeezed = minOf(squeezed, share)
        return wanted * share
    }

    private companion object {
        const val BOUNCE_MS = 50L
        const val LINE = 1.2f
        const val ADD = 0x00100001
        const val TAKE_BACK = 0x00100002
    }
}
