package leafturn.phone

import leafturn.core.Leafturn
import org.junit.Test
import org.junit.runner.RunWith
import org.robolectric.RobolectricTestRunner

/**
 * Ratios of what the shell does to a floor measured in the same run. Not a test: it is run by name, and a ratio fails
 * nothing. Medians, the two sides by turns, so that a slow disk or another program slows both.
 */
@RunWith(RobolectricTestRunner::class)
class Bench {
    /** A tap through JNA until its record is back, against a bare row with one fsync, put down by the library itself. */
    @Test
    fun tap() {
        for (plants in listOf(3, 300)) {
            val walk = counting(plants)
            val took = List(RUNS) {
                val tap = time { walk.app.core.wait { it.count("egg") } }
                tap to (walk.app.core.wait { it.bareInsert() } as Outcome.Done).value.toLong()
            }.drop(RUNS / 10)
            val what = "a tap until its record is back with $plants plants, against a bare durable insert"
            report(what, 1.6, took.map { it.first }, took.map { it.second })
            walk.leave()
        }
    }

    /** Painting the counting screen with a fresh record of an act, against painting it once more without one. */
    @Test
    fun repaint() {
        val walk = counting(plants = 3)
        val screen = walk.home.frame
        val bitmap = android.graphics.Bitmap.createBitmap(screen.width, screen.height, android.graphics.Bitmap.Config.ARGB_8888)
        val canvas = android.graphics.Canvas(bitmap)
        say(
            "painting after an act, against painting without one", 1.2,
            {
                walk.find("tile-egg").performClick()
                walk.settle()
            },
            { walk.settle() },
            timed = { screen.draw(canvas) },
        )
        walk.leave()
    }

    /** The first frame of the counting screen with 300 plants in the visit, against one with 3. */
    @Test
    fun firstFrame() {
        val few = counting(plants = 3)
        // Once for nothing: until then the machine compiles what it runs.
        frames(few)
        val small = frames(few)
        few.leave()
        val many = counting(plants = 300)
        val large = frames(many)
        many.leave()
        report("first frame with 300 plants, against 3", 1.2, large, small)
    }

    private fun frames(walk: Walk): List<Long> = List(RUNS) {
        walk.home.go(Place.Sites)
        walk.settle()
        time {
            walk.home.go(Place.Counting)
            walk.settle()
            walk.home.frame.draw(android.graphics.Canvas(android.graphics.Bitmap.createBitmap(8, 8, android.graphics.Bitmap.Config.ARGB_8888)))
        }
    }

    private fun counting(plants: Int): Walk {
        val walk = Walk().begin()
        walk.app.core.wait { core: Leafturn ->
            Scene.visit(core, Scene.site(core))
            core.openPlant("Asclepias syriaca")
            repeat(plants - 1) { core.emptyPlant() }
            core.counting()
        }
        walk.home.go(Place.Counting)
        walk.settle()
        return walk
    }

    private fun say(what: String, aim: Double, one: () -> Any?, floor: () -> Any?, timed: (() -> Unit)? = null) {
        val took = List(RUNS) {
            val measured = { work: () -> Any? ->
                if (timed == null) time { work() } else { work(); time(timed) }
            }
            measured(one) to measured(floor)
        }.drop(RUNS / 10)
        report(what, aim, took.map { it.first }, took.map { it.second })
    }

    private fun report(what: String, aim: Double, one: List<Long>, floor: List<Long>) {
        val (ours, least) = one.sorted()[one.size / 2] to floor.sorted()[floor.size / 2]
        println("ratio: %.2f (aim %.1f) %s; %.2f ms and %.2f ms".format(ours.toDouble() / least, aim, what, ours / 1e6, least / 1e6))
    }

    private fun time(work: () -> Unit): Long {
        val began = System.nanoTime()
        work()
        return System.nanoTime() - began
    }

    private companion object {
        const val RUNS = 200
    }
}
