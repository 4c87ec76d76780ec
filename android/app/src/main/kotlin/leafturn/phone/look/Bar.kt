package leafturn.phone.look

import android.annotation.SuppressLint
import android.graphics.Canvas
import android.graphics.Paint
import android.view.View

/** A bar of this share of its width, 0 to 1. What it says stands in words beside it. */
@SuppressLint("ViewConstructor")
class Bar(look: Look, private val share: Float) : View(look.context) {
    private val ink = Paint().apply { color = look.colours.ink }
    private val edge = Paint().apply {
        color = look.colours.edge
        style = Paint.Style.STROKE
        strokeWidth = look.dp(1).toFloat()
    }

    init {
        importantForAccessibility = IMPORTANT_FOR_ACCESSIBILITY_NO
        minimumHeight = look.dp(Look.GAP)
    }

    override fun onDraw(canvas: Canvas) {
        val long = width * share.coerceIn(0f, 1f)
        val from = if (layoutDirection == LAYOUT_DIRECTION_RTL) width - long else 0f
        canvas.drawRect(from, 0f, from + long, height.toFloat(), ink)
        canvas.drawRect(0f, 0f, width.toFloat(), height.toFloat(), edge)
    }
}
