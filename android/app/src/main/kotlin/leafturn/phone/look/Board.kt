package leafturn.phone.look

import android.annotation.SuppressLint
import android.graphics.Bitmap
import android.graphics.Canvas
import android.graphics.Color
import android.graphics.Paint
import android.graphics.RectF
import android.view.MotionEvent
import android.view.View
import leafturn.core.Point

/**
 * A photo on which points are put. A cross goes ahead of the finger, which would hide what is under it, and the point is
 * put where the cross is when the finger is lifted.
 */
@SuppressLint("ViewConstructor")
class Board(private val look: Look, private val photo: Bitmap, private val put: (Point) -> Unit) : View(look.context) {
    private val frame = RectF()
    private var cross: Pair<Float, Float>? = null
    private val dark = line(Color.BLACK, 5)
    private val light = line(Color.WHITE, 2)

    /** Lines to be shown, in pixels of the photo. */
    var lines: List<List<Point>> = listOf()
        set(value) {
            field = value
            invalidate()
        }

    override fun onSizeChanged(wide: Int, high: Int, wideBefore: Int, highBefore: Int) {
        val scale = minOf(wide.toFloat() / photo.width, high.toFloat() / photo.height)
        val (left, top) = (wide - photo.width * scale) / 2 to (high - photo.height * scale) / 2
        frame.set(left, top, left + photo.width * scale, top + photo.height * scale)
    }

    @SuppressLint("ClickableViewAccessibility")
    override fun onTouchEvent(event: MotionEvent): Boolean {
        parent.requestDisallowInterceptTouchEvent(true)
        val at = event.x to event.y - look.dp(AHEAD)
        when (event.actionMasked) {
            MotionEvent.ACTION_DOWN, MotionEvent.ACTION_MOVE -> cross = at
            MotionEvent.ACTION_UP -> {
                cross = null
                if (frame.contains(at.first, at.second)) put(onPhoto(at))
            }
            MotionEvent.ACTION_CANCEL -> cross = null
        }
        invalidate()
        return true
    }

    override fun onDraw(canvas: Canvas) {
        canvas.drawBitmap(photo, null, frame, null)
        for (paint in listOf(dark, light)) {
            lines.forEach { line ->
                val points = line.map(::onScreen)
                points.zipWithNext { (x, y), (toX, toY) -> canvas.drawLine(x, y, toX, toY, paint) }
                points.forEach { (x, y) -> canvas.drawCircle(x, y, look.dp(ROUND).toFloat(), paint) }
            }
            cross?.let { (x, y) ->
                val arm = look.dp(ARM)
                canvas.drawLine(x - arm, y, x + arm, y, paint)
                canvas.drawLine(x, y - arm, x, y + arm, paint)
            }
        }
    }

    private fun onPhoto(at: Pair<Float, Float>): Point {
        val scale = photo.width / frame.width()
        return Point(((at.first - frame.left) * scale).toDouble(), ((at.second - frame.top) * scale).toDouble())
    }

    private fun onScreen(point: Point): Pair<Float, Float> {
        val scale = frame.width() / photo.width
        return frame.left + point.x.toFloat() * scale to frame.top + point.y.toFloat() * scale
    }

    private fun line(colour: Int, wide: Int) = Paint(Paint.ANTI_ALIAS_FLAG).apply {
        color = colour
        style = Paint.Style.STROKE
        strokeWidth = look.dp(wide).toFloat()
    }

    private companion object {
        const val AHEAD = 56
        const val ROUND = 6
        const val ARM = 20
    }
}
