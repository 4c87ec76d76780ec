package leafturn.phone

import java.io.File
import org.json.JSONObject
import org.junit.Assert.assertEquals
import org.junit.Assert.assertTrue
import org.junit.Test
import org.junit.runner.RunWith
import org.robolectric.RobolectricTestRunner

/**
 * The whole visit with one thumb, through the real activity, the real library, the real HTTP stack and a real station.
 * Everything in it is invented.
 */
@RunWith(RobolectricTestRunner::class)
class StoryTest {
    /** The story that every shell tells; on a plant, none is an empty one, and a minus takes the last one back. */
    private val story = JSONObject(File(System.getProperty("leafturn.sources"), "../../../../../tests/story/story.json").readText())
    private val plants: List<List<String>> = story.getJSONArray("plants").let { all ->
        (0 until all.length()).map { at -> all.getJSONArray(at).let { acts -> (0 until acts.length()).map(acts::getString) } }
    }

    @Test
    fun aVisitFromTheFirstTapToTheStation() {
        val walk = Walk().begin()
        addSite(walk)
        val site = (walk.tagged("site-").single().tag as String).removePrefix("site-")
        walk.tap("site-$site")
        walk.type("observer", story.getString("observer"))
        walk.tap("add-observer")
        walk.tap("begin")
        walk.tap("host-${story.getString("host")}")

        val taps = walk.taps
        val tally = sortedMapOf<String, Int>()
        var counts = 0
        plants.forEachIndexed { at, acts ->
            assertTrue(walk.outline(), walk.says("Plant ${at + 1}"))
            counts += plant(walk, acts, tally)
        }
        val spent = walk.taps - taps
        val allowed = 2 * counts + 2 * plants.size
        println("taps: $spent for $counts counts on ${plants.size} plants, $allowed allowed")
        assertTrue("$spent taps for $counts counts on ${plants.size} plants", spent <= allowed)

        // To be compared with what the other languages make of the same story.
        val told = File(System.getProperty("leafturn.scratch"), "story-kotlin.gz").also { it.parentFile.mkdirs() }
        val handedOver = walk.app.core.wait { it.exportTo(told.path) }
        assertTrue("$handedOver", handedOver is Outcome.Done && told.length() > 0)

        // Turned, and made again by the system: the same screen.
        val before = walk.outline()
        walk.recreate()
        assertEquals(before, walk.outline())

        // Another process goes on with the same journal and is killed in the middle of it.
        val journal = walk.app.journal
        walk.leave()
        val died = Elsewhere.countAndDie(journal, File(journal.parentFile, "marker"), acts = 13)
        val again = Walk().begin()
        again.tap("go-on")
        val now = (again.app.core.wait { it.counting() } as Outcome.Done).value
        val shown = Elsewhere.line(now)
        assertTrue("$shown is neither the last that was shown nor the next: $died", follows(died, shown))
        add(tally, again)

        again.more()
        again.tap("review")
        again.tap("end")
        assertTrue(again.outline(), again.maybe("take-back") != null)
        again.tap("take-back")
        again.tap("end")

        Station(File(System.getProperty("leafturn.scratch"), "station-${System.nanoTime()}")).use { station ->
            again.tap("sending")
            again.tap("join")
            again.type("station", station.address)
            again.type("code", station.invite(site))
            val waiting = (again.app.core.wait { it.sites() } as Outcome.Done).value.waits
            again.tap("join-now")
            again.until("all sent") { again.says("All sent") && again.maybe("send-now") != null }
            compare(station, tally, waiting)
        }
        again.leave()
    }

    private fun addSite(walk: Walk) {
        walk.tap("add-site")
        val site = story.getJSONObject("site")
        walk.type("site-name", site.getString("name"))
        walk.type("latitude", site.getString("latitude"))
        walk.type("longitude", site.getString("longitude"))
        walk.tap("save")
    }

    /** One plant; returns how many counts it took. */
    private fun plant(walk: Walk, acts: List<String>, tally: MutableMap<String, Int>): Int {
        var last = ""
        for (what in acts) {
            when {
                what == "-" -> {
                    walk.tap("take-back")
                    tally.merge(last, -1, Int::plus)
                }
                "+" in what -> {
                    walk.tap("undecided")
                    walk.tap("undecided-$what")
                    tally.merge(what, 1, Int::plus)
                }
                else -> {
                    walk.tap("tile-$what")
                    tally.merge(what, 1, Int::plus)
                }
            }
            last = what
        }
        walk.tap(if (acts.isEmpty()) "empty" else "next")
        return acts.size
    }

    /** The act that was under way when the kill came is there or not; no other difference is allowed. */
    private fun follows(died: List<String>, shown: String): Boolean {
        if (shown == died.last()) return true
        val cycle = 5
        return died.size > cycle && shown.substringBefore('|') in listOf(died.last().substringBefore('|'), next(died.last()))
    }

    private fun next(line: String): String = "Plant ${line.substringBefore('|').removePrefix("Plant ").toInt() + 1}"

    /** What the killed process left in the journal, from the review of the phone itself: the open plant is finished. */
    private fun add(tally: MutableMap<String, Int>, walk: Walk) {
        walk.tap("next")
        val rows = (walk.app.core.wait { it.review() } as Outcome.Done).value.rows
        val later = rows.drop(plants.size)
        assertTrue("${rows.size} rows", later.isNotEmpty())
        later.forEach { row ->
            tally.merge("larva2", Regex("larva 2: (\\d+)").find(row.found)?.groupValues?.get(1)?.toInt() ?: 0, Int::plus)
            tally.merge("egg+none", Regex("egg, or not an egg: (\\d+)").find(row.found)?.groupValues?.get(1)?.toInt() ?: 0, Int::plus)
        }
    }

    private fun compare(station: Station, tally: Map<String, Int>, waiting: String) {
        val check = station.check()
        assertEquals("$check", 0, check.getInt("holes") + check.getInt("forked") + check.getInt("undecodable"))
        assertEquals("$check", waiting.filter(Char::isDigit).toInt(), check.getInt("entries"))
        val sites = station.report().getJSONArray("sites")
        val visit = sites.getJSONObject(0).getJSONArray("seasons").getJSONObject(0).getJSONArray("visits").getJSONObject(0)
        val cells = visit.getJSONArray("cells").let { all -> (0 until all.length()).map(all::getJSONObject) }
        val animals = cells.associate { it.getString("stage") to it.getInt("animals") }
        for (stage in listOf("egg", "larva1", "larva2", "larva3", "larva4", "larva5")) {
            assertEquals("$stage in $visit", tally[stage] ?: 0, animals[stage] ?: 0)
        }
        assertEquals(tally["egg+none"], cells.first { it.getString("stage") == "egg" }.getInt("undecided"))
    }
}
