package leafturn.phone.look

import android.graphics.Canvas
import android.graphics.Color
import android.graphics.DashPathEffect
import android.graphics.Paint
import android.graphics.Path
import android.graphics.RectF
import leafturn.core.Drawing
import leafturn.core.Ink
import leafturn.core.PathStep
import leafturn.core.TextLine

/** Paints a drawing of the core. */
class Specimen(private val drawing: Drawing) {
    private class Stroke(val path: Path, val fill: Int?, val line: Int?, val width: Float, val dashes: FloatArray)

    private val strokes = drawing.paths.map { own ->
        val path = Path()
        path.moveTo(own.start.x.toFloat(), own.start.y.toFloat())
        own.steps.forEach { step ->
            when (step) {
                is PathStep.Line -> path.lineTo(step.to.x.toFloat(), step.to.y.toFloat())
                is PathStep.Cubic -> path.cubicTo(
                    step.first.x.toFloat(), step.first.y.toFloat(),
                    step.second.x.toFloat(), step.second.y.toFloat(),
                    step.to.x.toFloat(), step.to.y.toFloat(),
                )
                is PathStep.Close -> path.close()
                is PathStep.Circle -> path.addCircle(
                    own.start.x.toFloat(), own.start.y.toFloat(), step.radius.toFloat(), Path.Direction.CW,
                )
            }
        }
        val dashes = FloatArray(own.dashes.size) { own.dashes[it].toFloat() }
        Stroke(path, own.fill?.colour, own.line?.colour, own.width.toFloat(), dashes)
    }

    /** What it shows, for those who do not see it. */
    val description: String get() = "${drawing.title}. ${drawing.description}"

    private val paint = Paint(Paint.ANTI_ALIAS_FLAG).apply {
        strokeCap = Paint.Cap.ROUND
        strokeJoin = Paint.Join.ROUND
    }

    private val letters = Paint(Paint.ANTI_ALIAS_FLAG)

    /** As large as fits into the frame, in its middle. */
    fun paint(canvas: Canvas, frame: RectF) {
        val width = drawing.width.toInt().toFloat()
        val height = drawing.height.toInt().toFloat()
        val scale = minOf(frame.width() / width, frame.height() / height)
        canvas.save()
        canvas.translate(frame.centerX() - width * scale / 2, frame.centerY() - height * scale / 2)
        canvas.scale(scale, scale)
        strokes.forEach { paint(canvas, it) }
        drawing.texts.forEach { write(canvas, it) }
        canvas.restore()
    }

    private fun write(canvas: Canvas, line: TextLine) {
        letters.textSize = line.size.toFloat()
        letters.isFakeBoldText = line.bold
        letters.color = line.ink.colour
        val before = letters.measureText(line.text) * line.before.toFloat()
        canvas.drawText(line.text, line.at.x.toFloat() - before, line.at.y.toFloat(), letters)
    }

    private fun paint(canvas: Canvas, stroke: Stroke) {
        stroke.fill?.let {
            paint.style = Paint.Style.FILL
            paint.color = it
            canvas.drawPath(stroke.path, paint)
        }
        stroke.line?.let {
            paint.style = Paint.Style.STROKE
            paint.color = it
            paint.strokeWidth = stroke.width
            paint.pathEffect = if (stroke.dashes.size < 2) null else DashPathEffect(stroke.dashes, 0f)
            canvas.drawPath(stroke.path, paint)
            paint.pathEffect = null
        }
    }
}

private val Ink.colour get() = Color.rgb(red.toInt(), green.toInt(), blue.toInt())
