package leafturn.phone

import android.os.Bundle
import android.os.Looper
import android.view.KeyEvent
import android.view.MotionEvent
import android.view.View
import android.view.accessibility.AccessibilityNodeInfo
import java.io.File
import java.time.Duration
import leafturn.phone.look.Colours
import leafturn.phone.device.Feel
import leafturn.phone.device.Haptics
import leafturn.phone.look.TileView
import org.junit.Assert.assertEquals
import org.junit.Assert.assertTrue
import org.junit.Test
import org.junit.runner.RunWith
import org.robolectric.RobolectricTestRunner
import org.robolectric.Shadows.shadowOf
import kotlin.random.Random

/** Counting as the hand, the ear and the system do it. */
@RunWith(RobolectricTestRunner::class)
class HandTest {
    private fun counting(): Walk {
        val walk = Walk().begin()
        walk.app.core.wait {
            Scene.visit(it, Scene.site(it))
            it.openPlant("Asclepias syriaca")
        }
        walk.home.go(Place.Counting)
        walk.settle()
        return walk
    }

    private fun number(walk: Walk, what: String) = (walk.find("tile-$what") as TileView).shown!!.number.toInt()

    /** What is felt, in order. */
    private fun feeling(walk: Walk) = mutableListOf<Feel>().also { felt -> walk.home.haptics = Haptics { felt += it } }

    /** Times in ms of down and up by the system's event time: contact bounce counts once, quick tapping always. */
    @Test
    fun bounceCountsOnceAndQuickTappingIsNeverDropped() {
        val walk = counting()
        val tile = walk.find("tile-egg") as TileView
        fun touch(down: Long, up: Long) = listOf(MotionEvent.ACTION_DOWN to down, MotionEvent.ACTION_UP to up).forEach { (action, at) ->
            val event = MotionEvent.obtain(down, at, action, 20f, 20f, 0)
            tile.dispatchTouchEvent(event)
            event.recycle()
        }
        touch(1000, 1060)
        touch(1080, 1090)
        touch(1130, 1180)
        walk.settle()
        assertEquals("the second one bounced: 20 ms after the first was lifted", 1, number(walk, "egg"))
        touch(2000, 2040)
        touch(2120, 2160)
        touch(2240, 2280)
        walk.settle()
        assertEquals("three taps, 120 ms apart", 4, number(walk, "egg"))
        walk.leave()
    }

    @Test
    fun theTileIsPressedAtOnceAndTheNumberComesWhenItIsDurable() {
        val walk = counting()
        val tile = walk.find("tile-egg") as TileView
        tile.dispatchTouchEvent(MotionEvent.obtain(5000, 5000, MotionEvent.ACTION_DOWN, 20f, 20f, 0))
        assertTrue("pressed in the same frame", tile.isPressed)
        assertEquals(0, number(walk, "egg"))
        tile.dispatchTouchEvent(MotionEvent.obtain(5000, 5060, MotionEvent.ACTION_UP, 20f, 20f, 0))
        walk.settle()
        assertEquals(1, number(walk, "egg"))
        walk.leave()
    }

    @Test
    fun countedTakenBackAndRefusedFeelDifferentAndARefusalIsShown() {
        val walk = counting()
        val felt = feeling(walk)
        walk.tap("tile-larva3")
        walk.tap("take-back")
        walk.tap("tile-larva3")
        walk.home.ask({ it.emptyPlant() }) { throw AssertionError("it is not empty") }
        walk.settle()
        assertEquals(listOf(Feel.COUNTED, Feel.TAKEN_BACK, Feel.COUNTED, Feel.REFUSED), felt)
        assertTrue(walk.outline(), walk.says("Something is counted on this plant"))
        assertEquals(3, Feel.entries.map { it.timings.toList() }.toSet().size)
        walk.leave()
    }

    /** A screen reader, a switch or a voice: no touch at all from the first screen to the end of the visit. */
    @Test
    fun aVisitByAccessibilityActionsAlone() {
        val walk = Walk().begin()
        fun act(tag: String, action: Int = AccessibilityNodeInfo.ACTION_CLICK) {
            val view = walk.find(tag)
            assertTrue("$tag takes no action $action", view.performAccessibilityAction(action, Bundle()))
            walk.settle()
        }
        fun write(tag: String, text: String) {
            val typed = Bundle().apply { putCharSequence(AccessibilityNodeInfo.ACTION_ARGUMENT_SET_TEXT_CHARSEQUENCE, text) }
            assertTrue(walk.find(tag).performAccessibilityAction(AccessibilityNodeInfo.ACTION_SET_TEXT, typed))
            walk.settle()
        }
        act("add-site")
        write("site-name", "Invented Meadow")
        act("precision-tenth")
        act("save")
        act(walk.tagged("site-").single().tag as String)
        write("observer", "Invented Name")
        act("add-observer")
        act("begin")
        act("host-Asclepias syriaca")
        act("tile-egg", AccessibilityNodeInfo.ACTION_SCROLL_FORWARD)
        act("tile-egg", AccessibilityNodeInfo.ACTION_SCROLL_FORWARD)
        act("tile-larva4")
        act("tile-egg", AccessibilityNodeInfo.ACTION_SCROLL_BACKWARD)
        assertEquals("down takes back the last egg, not the larva after it", 1 to 1, number(walk, "egg") to number(walk, "larva4"))
        act("undecided")
        act("undecided-egg+none")
        val info = AccessibilityNodeInfo.obtain()
        walk.find("tile-egg").onInitializeAccessibilityNodeInfo(info)
        assertEquals("egg", info.contentDescription.toString())
        assertEquals(1f, info.rangeInfo.current)
        assertEquals("1", walk.find("tile-egg").stateDescription.toString())
        assertTrue(info.actionList.any { it.label == "Take back" })
        act("next")
        act("empty")
        walk.more { act(it) }
        act("review")
        act("end")
        assertTrue(walk.outline(), walk.says("Take back: visit ended"))
        act("sending")
        act("join")
        write("station", "https://station.invalid")
        assertEquals("https://station.invalid", walk.home.typed("station"))
        assertEquals("no touch", 0, walk.taps)
        walk.leave()
    }

    @Test
    fun aBurstIsSpokenOnce() {
        val walk = counting()
        val spoken = mutableListOf<CharSequence>()
        val view = object : View(walk.home) {
            override fun announceForAccessibility(text: CharSequence) {
                spoken += text
            }
        }
        listOf("egg: 1", "egg: 2", "egg: 3").forEach {
            walk.home.announcer.say(view, it)
            shadowOf(Looper.getMainLooper()).idleFor(Duration.ofMillis(120))
        }
        shadowOf(Looper.getMainLooper()).idleFor(Duration.ofMillis(300))
        assertEquals(listOf("egg: 3"), spoken)
        walk.leave()
    }

    @Test
    fun keysOfAKeyboardAndOfThePhoneCount() {
        val walk = counting()
        fun press(key: Int) {
            listOf(KeyEvent.ACTION_DOWN, KeyEvent.ACTION_UP).forEach { walk.home.dispatchKeyEvent(KeyEvent(it, key)) }
            walk.settle()
        }
        press(KeyEvent.KEYCODE_1)
        press(KeyEvent.KEYCODE_6)
        press(KeyEvent.KEYCODE_VOLUME_UP)
        assertEquals("volume keys are off until they are switched on", 1 to 1, number(walk, "egg") to number(walk, "larva5"))
        Scene.switchOn(walk, "volume-keys")
        press(KeyEvent.KEYCODE_VOLUME_UP)
        assertEquals(2, number(walk, "larva5"))
        press(KeyEvent.KEYCODE_VOLUME_DOWN)
        press(KeyEvent.KEYCODE_U)
        assertEquals(1 to 0, number(walk, "egg") to number(walk, "larva5"))
        press(KeyEvent.KEYCODE_N)
        press(KeyEvent.KEYCODE_0)
        assertTrue(walk.outline(), walk.says("Plant 3"))
        walk.leave()
    }

    /** A thousand acts as a seed says; what the screen shows is what the journal holds, all the way. */
    @Test
    fun aThousandRandomActs() {
        val chance = Random(20_260_601)
        val walk = counting()
        repeat(1000) { at ->
            val here = walk.tagged("tile-").map { it.tag as String } + listOf("take-back", "empty", "next")
            val target = here.filter { walk.find(it).isEnabled }.random(chance)
            walk.find(target).performClick()
            if (chance.nextInt(40) == 0) walk.recreate()
            if (chance.nextInt(4) == 0) {
                walk.settle()
                if (walk.maybe("next") == null) {
                    // Everything was taken back, also the opening of the first plant.
                    walk.tap("host-Asclepias syriaca")
                }
                same(walk, at)
            } else {
                walk.settle()
                if (walk.maybe("next") == null) walk.tap("host-Asclepias syriaca")
            }
        }
        walk.recreate()
        same(walk, 1000)
        walk.leave()
    }

    private fun same(walk: Walk, at: Int) {
        val journal = (walk.app.core.wait { it.counting() } as Outcome.Done).value
        val shown = walk.tagged("tile-").map { (it as TileView).shown }
        assertEquals("after $at acts", journal.tiles, shown)
        assertTrue("after $at acts: ${walk.outline()}", walk.says(journal.title) && walk.says(journal.photoAsked?.text ?: journal.progress))
    }

    @Test
    fun everyWordThatTheShellNamesIsInTheCore() {
        val named = Regex("\"((?:phone|cautions)\\.[a-z-.]+)\"")
        val sources = File(System.getProperty("leafturn.sources")).walkTopDown().filter { it.extension == "kt" }.map { it.readText() }
        val ids = sources.flatMap { named.findAll(it).map { hit -> hit.groupValues[1] } }.toSortedSet()
        assertTrue("${ids.size} found", ids.size > 40)
        val walk = Walk().begin()
        for (language in listOf("en", "es", "fr")) {
            val words = (walk.app.core.wait { it.setLanguage(language) } as Outcome.Done).value
            assertEquals("in $language", emptyList<String>(), ids.filter { it !in words && !it.endsWith(".") })
        }
        walk.leave()
    }

    @Test
    fun contrastIsAsPromised() {
        for (colours in listOf(Colours.LIGHT, Colours.DARK)) {
            val text = listOf(colours.ink to colours.paper, colours.quiet to colours.paper, colours.ink to colours.pressed)
            text.forEach { (one, other) -> assertTrue("$colours ${Inspector.contrast(one, other)}", Inspector.contrast(one, other) >= 7.0) }
            val edge = Inspector.contrast(colours.edge, colours.paper)
            assertTrue("$colours $edge", edge >= 3.0)
            println("measured: contrast ${text.map { (one, other) -> "%.1f".format(Inspector.contrast(one, other)) }}, edge ${"%.1f".format(edge)}")
        }
    }
}
