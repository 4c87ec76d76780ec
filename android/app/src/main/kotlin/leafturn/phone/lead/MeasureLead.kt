package leafturn.phone.lead

import android.graphics.Bitmap
import android.graphics.BitmapFactory
import leafturn.core.MeasureQuestion
import leafturn.core.MeasureScreen
import leafturn.core.MeasuredAgainst
import leafturn.core.Measuring
import leafturn.core.Point
import leafturn.core.ScaleLies
import leafturn.phone.MainActivity
import leafturn.phone.Place
import leafturn.phone.device.Camera
import leafturn.phone.device.Handed
import leafturn.phone.look.Drafts
import leafturn.phone.screens.MeasureActs
import leafturn.phone.screens.measureScreen

/**
 * Measuring on a photo for a question of the key: points along the animal, then along what it is compared with. The photo
 * is for this alone and is not kept.
 */
class MeasureLead(private val home: MainActivity) {
    private var photo: Pair<Long, Bitmap>? = null

    fun draw(character: String) = home.ask({ it.measure() }) { all ->
        val question = all.questions.firstOrNull { it.question.character == character }
        if (question == null) home.go(Place.Key) else show(all, question)
    }

    /** The camera came back. */
    fun photoTaken(jpeg: ByteArray?) {
        val kept = Handed.file(home, Handed.MEASURED)
        if (jpeg != null) kept.writeBytes(jpeg)
        clear()
        home.go(home.place)
    }

    private fun show(all: MeasureScreen, question: MeasureQuestion) =
        home.show(measureScreen(home.look, all, question, bitmap(), ActsOf(all, question)))

    private fun bitmap(): Bitmap? {
        val file = Handed.file(home, Handed.MEASURED)
        val known = photo?.takeIf { it.first == file.lastModified() }
        val now = known ?: BitmapFactory.decodeFile(file.path)?.let { file.lastModified() to it }
        photo = now
        return now?.second
    }

    private fun clear() = listOf("line", "against", "coin", "length").forEach { home.type(it, "") }

    private inner class ActsOf(private val all: MeasureScreen, private val question: MeasureQuestion) : MeasureActs, Drafts by home {
        override fun lines() = listOf(points("line"), points("against"))

        override fun onAnimal() = home.typed("measuring") != "against"

        override fun turnTo(animal: Boolean) {
            home.type("measuring", if (animal) "line" else "against")
            show(all, question)
        }

        override fun put(point: Point) {
            val name = if (onAnimal()) "line" else "against"
            val most = if (onAnimal() || !question.needsScale) all.mostPoints.toInt() else 2
            if (points(name).size < most) home.type(name, "${home.typed(name)} ${point.x},${point.y}".trim())
            show(all, question)
        }

        override fun takePointBack() {
            val name = if (onAnimal()) "line" else "against"
            home.type(name, home.typed(name).substringBeforeLast(' ', ""))
            show(all, question)
        }

        override fun coin() = home.typed("coin").toUIntOrNull()

        override fun chooseCoin(coin: UInt?) {
            home.type("coin", coin?.toString().orEmpty())
            show(all, question)
        }

        override fun takePhoto() {
            home.type("photo-for", "measure")
            if (!Camera.open(home)) home.say(home.look.word("phone.no-camera"))
        }

        override fun answer() {
            val character = question.question.character
            home.ask({ it.answerMeasured(character, measuring()) }) {
                clear()
                Handed.file(home, Handed.MEASURED).delete()
                home.go(Place.Key)
            }
        }

        private fun measuring() = Measuring(points("line"), against())

        private fun against(): MeasuredAgainst {
            val along = points("against")
            if (!question.needsScale) return MeasuredAgainst.Line(along)
            val none = Point(0.0, 0.0)
            val lies = ScaleLies(along.getOrElse(0) { none }, along.getOrElse(1) { none }, samePlane = true, tiltDegrees = 0.0)
            val coin = coin() ?: return MeasuredAgainst.Marked(home.typed("length").replace(',', '.').toDoubleOrNull() ?: 0.0, lies)
            return MeasuredAgainst.Coin(coin, lies)
        }

        private fun points(name: String): List<Point> = home.typed(name).split(' ').filter { it.isNotEmpty() }.map { pair ->
            val (x, y) = pair.split(',').map(String::toDouble)
            Point(x, y)
        }
    }
}
