package leafturn.phone.look

import android.graphics.Canvas
import android.graphics.ColorFilter
import android.graphics.Paint
import android.graphics.PixelFormat
import android.graphics.drawable.Drawable

/** The mark before a choice: a ring for one of several, a square for each by itself; filled where it is chosen. */
class Mark(private val look: Look, private val alone: Boolean) : Drawable() {
    private val paint = Paint(Paint.ANTI_ALIAS_FLAG).apply {
        color = look.colours.ink
        strokeWidth = look.dp(Look.EDGE).toFloat()
    }

    override fun draw(canvas: Canvas) {
        val middle = bounds.exactCenterX() to bounds.exactCenterY()
        val radius = bounds.width() / 2f - paint.strokeWidth
        shape(canvas, middle, radius, Paint.Style.STROKE)
        if (android.R.attr.state_checked in state) shape(canvas, middle, radius - 2 * paint.strokeWidth, Paint.Style.FILL)
    }

    override fun isStateful() = true

    override fun onStateChange(state: IntArray): Boolean {
        invalidateSelf()
        return true
    }

    override fun getIntrinsicWidth() = look.dp(SIDE)

    override fun getIntrinsicHeight() = look.dp(SIDE)

    override fun setAlpha(alpha: Int) = Unit

    override fun setColorFilter(filter: ColorFilter?) = Unit

    @Deprecated("Asked for by older systems")
    override fun getOpacity() = PixelFormat.TRANSLUCENT

    private fun shape(canvas: Canvas, middle: Pair<Float, Float>, radius: Float, style: Paint.Style) {
        paint.style = style
        val (x, y) = middle
        if (alone) {
            canvas.drawCircle(x, y, radius, paint)
        } else {
            canvas.drawRect(x - radius, y - radius, x + radius, y + radius, paint)
        }
    }

    private companion object {
        const val SIDE = 28
    }
}
