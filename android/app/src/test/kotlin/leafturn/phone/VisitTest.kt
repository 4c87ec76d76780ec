package leafturn.phone

import leafturn.core.Leafturn
import leafturn.core.ReviewScreen
import leafturn.phone.look.TileView
import org.junit.Assert.assertEquals
import org.junit.Assert.assertFalse
import org.junit.Assert.assertTrue
import org.junit.Test
import org.junit.runner.RunWith
import org.robolectric.RobolectricTestRunner

/** A visit looked over: from what looks odd to where it is, plants looked at twice, a clock that was set, advice. */
@RunWith(RobolectricTestRunner::class)
class VisitTest {
    private fun <T> core(walk: Walk, work: (Leafturn) -> T): T = (walk.app.core.wait(work) as Outcome.Done).value

    private fun begun(): Walk {
        val walk = Walk().begin()
        core(walk) {
            Scene.visit(it, Scene.site(it))
            it.openPlant("Asclepias syriaca")
        }
        walk.home.go(Place.Counting)
        walk.settle()
        return walk
    }

    private fun review(walk: Walk): ReviewScreen {
        walk.home.go(Place.Review)
        walk.settle()
        return core(walk) { it.review() }
    }

    private fun finding(shown: ReviewScreen, words: String) =
        shown.findings.indexOfFirst { words in it }.also { assertTrue("${shown.findings}", it >= 0) }

    /** 60 eggs on one plant are more than is plausible: the finding leads to that plant, not to the one that is open. */
    @Test
    fun aFindingLeadsToItsPlantAndBack() {
        val walk = begun()
        core(walk) { core ->
            core.emptyPlant()
            repeat(60) { core.count("egg") }
            core.nextPlant()
        }
        val odd = finding(review(walk), "60 ×")
        walk.tap("finding-$odd")
        assertTrue(walk.outline(), walk.says("Plant 2") && walk.says("egg: 60"))
        val here = walk.outline()
        walk.recreate()
        assertEquals("turned, or made again after its process died", here, walk.outline())
        walk.type("details-height", "80")
        walk.tap("save")
        assertTrue("back to the review: ${walk.outline()}", walk.maybe("finding-$odd") != null)
        val check = core(walk) { core -> core.review().rows[1].check }
        assertEquals("80", core(walk) { it.details(check) }.height.value)
        assertEquals("", core(walk) { it.details(null) }.height.value)
        walk.leave()
    }

    /** Somebody sets the clock back by three hours in the middle of a visit: nothing is lost, and it is said. */
    @Test
    fun aClockSetBackLosesNothingAndIsSaid() {
        val walk = begun()
        try {
            repeat(3) { walk.tap("tile-egg") }
            core(walk) { it.setWallClock(-3 * HOUR_MS - HALF_MINUTE_MS) }
            repeat(2) { walk.tap("tile-egg") }
            walk.tap("tile-larva4")
            walk.tap("take-back")
            fun number(what: String) = (walk.find("tile-$what") as TileView).shown!!.number.toInt()
            assertEquals("the last act is taken back, whatever the clock says", 5 to 0, number("egg") to number("larva4"))
            walk.recreate()
            assertEquals(5 to 0, number("egg") to number("larva4"))
            walk.tap("next")
            val odd = finding(review(walk), "the phone’s clock jumped by 180 minutes")
            assertTrue(walk.outline(), walk.says("egg: 5"))
            walk.tap("finding-$odd")
            assertTrue("to the visit as a whole: ${walk.outline()}", walk.maybe("visit-minutes") != null)
            walk.type("visit-minutes", "12")
            walk.tap("save")
            walk.tap("end")
            assertTrue(walk.outline(), walk.says("Take back: visit ended"))
            assertEquals(listOf("egg: 5"), core(walk) { it.review() }.rows.filter { "egg" in it.found }.map { it.found })
        } finally {
            core(walk) { it.setWallClock(0) }
            walk.leave()
        }
    }

    /** Two looks at a plant: 3 and 2 eggs, of which both may have seen up to 2, and one larva each. */
    @Test
    fun plantsLookedAtTwiceAreMatched() {
        val left = Walk().begin()
        left.leave()
        val walk = Twice.visit(left)
        review(walk)
        walk.tap("matching")
        assertTrue(walk.outline(), walk.says("3 and 2 counted") || walk.says("2 and 3 counted"))
        assertTrue("both are still at the third plant", walk.says("Both have to finish this plant first.") && walk.maybe("keep-2") == null)
        assertTrue("from 0 to the smaller count", walk.maybe("both-0-egg-2") != null && walk.maybe("both-0-egg-3") == null)
        walk.tap("both-0-egg-2")
        val here = walk.outline()
        walk.recreate()
        assertEquals(here, walk.outline())
        assertTrue("what was pressed is still pressed", (walk.find("both-0-egg-2") as android.widget.RadioButton).isChecked)
        walk.tap("both-0-larva2-0")
        walk.tap("keep-0")
        val said = core(walk) { it.matching() }.pairs.first().rows.associate { it.what to it.both?.toInt() }
        assertEquals(mapOf("egg" to 2, "larva2" to 0), said)

        val before = review(walk)
        walk.tap("finding-${finding(before, "two phones used plant number 2")}")
        assertTrue("a finding about two looks leads to the pair: ${walk.outline()}", walk.maybe("different-1") != null)
        walk.tap("different-1")
        assertFalse("it was told that they are two plants", core(walk) { it.review() }.findings.any { "plant number 2" in it })
        walk.leave()
    }

    /** Asked for, one tap from the pad; the pad itself says nothing of it. */
    @Test
    fun adviceIsAskedForAndLeadsBack() {
        val walk = begun()
        val first = core(walk) { it.advice() }.lines.first()
        assertFalse(walk.outline(), walk.says(first))
        walk.more()
        assertTrue(walk.outline(), walk.says(first))
        walk.tap("advice")
        assertTrue(walk.outline(), walk.says(first))
        walk.recreate()
        assertTrue(walk.outline(), walk.says(first))
        walk.tap("counting")
        assertTrue(walk.maybe("tile-egg") != null)
        walk.leave()
    }

    private companion object {
        const val HOUR_MS = 3_600_000L
        const val HALF_MINUTE_MS = 30_000L
    }
}
