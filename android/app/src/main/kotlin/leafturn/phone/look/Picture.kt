package leafturn.phone.look

import android.graphics.Canvas
import android.graphics.Color
import android.graphics.ColorFilter
import android.graphics.Paint
import android.graphics.PixelFormat
import android.graphics.RectF
import android.graphics.drawable.Drawable

/** A drawing of the core on white, in a size that is known before the drawing has come. Lengths are in dp. */
class Picture(private val look: Look, private val wide: Int, private val high: Int) : Drawable() {
    private val ground = Paint(Paint.ANTI_ALIAS_FLAG).apply { color = Color.WHITE }
    private val frame = RectF()

    /** What is painted; nothing until it has come. */
    var specimen: Specimen? = null
        set(value) {
            field = value
            value?.let { speaks(it.description) }
            invalidateSelf()
        }

    /** Told what the drawing shows, when it has come. */
    var speaks: (String) -> Unit = {}
        set(value) {
            field = value
            specimen?.let { value(it.description) }
        }

    override fun draw(canvas: Canvas) {
        frame.set(bounds)
        canvas.drawRoundRect(frame, look.dp(Look.CORNER).toFloat(), look.dp(Look.CORNER).toFloat(), ground)
        specimen?.paint(canvas, frame)
    }

    override fun getIntrinsicWidth() = look.dp(wide)

    override fun getIntrinsicHeight() = look.dp(high)

    override fun setAlpha(alpha: Int) = Unit

    override fun setColorFilter(filter: ColorFilter?) = Unit

    @Deprecated("Asked for by older systems")
    override fun getOpacity() = PixelFormat.TRANSLUCENT
}

/** Where pictures come from: the drawing of this name, given to the picture when it has come. */
fun interface Pictures {
    fun of(name: String, wide: Int, high: Int): Picture
}
