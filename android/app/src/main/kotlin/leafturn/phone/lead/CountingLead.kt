package leafturn.phone.lead

import android.view.KeyEvent
import leafturn.core.CountingScreen
import leafturn.core.Leafturn
import leafturn.phone.MainActivity
import leafturn.phone.Place
import leafturn.phone.device.Camera
import leafturn.phone.device.Feel
import leafturn.phone.look.Specimen
import leafturn.phone.screens.CountingActs
import leafturn.phone.screens.CountingView
import leafturn.phone.screens.HostsActs
import leafturn.phone.screens.MoreActs
import leafturn.phone.screens.PhotoActs
import leafturn.phone.screens.adviceScreen
import leafturn.phone.screens.hostsScreen
import leafturn.phone.screens.moreScreen
import leafturn.phone.screens.photoScreen
import leafturn.phone.screens.statesScreen
import leafturn.phone.screens.undecidedScreen

/** Counting, and the screens beside the pad that lead back to it. */
class CountingLead(private val home: MainActivity) {
    private var counting: CountingView? = null
    private var lastCounted = ""
    private var shown: CountingScreen? = null

    fun pad() = home.ask({ it.counting() }, ::show)

    fun undecided() = record { home.show(undecidedScreen(home.look, it, ::countAside, ::back)) }

    fun states() = record { home.show(statesScreen(home.look, it, ::countInState, ::back)) }

    fun hosts() = record { home.show(hostsScreen(home.look, it, otherHost)) }

    fun more() = home.ask({ it.counting() to it.advice() }) { (now, advice) ->
        shown = now
        home.show(moreScreen(home.look, now, advice, more))
    }

    fun advice() = home.ask({ it.advice() }) { home.show(adviceScreen(home.look, it, ::back)) }

    fun photo() = record { now ->
        val asked = now.photoAsked
        if (asked == null) home.go(Place.Counting) else home.show(photoScreen(home.look, asked, PhotoOf(asked.count)))
    }

    /** The pad is left: it is built again when it is come back to. */
    fun leave() {
        counting = null
    }

    /** A drawing has come: the tiles are written again. */
    fun repaint() = shown?.let { counting?.show(it, asks(it)) } ?: Unit

    /** Keys of the phone and of a keyboard, while counting: digits count, and the rest is as on the screen. */
    fun key(event: KeyEvent): Boolean {
        val now = shown?.takeIf { home.place == Place.Counting && it.open } ?: return false
        val act: (() -> Unit)? = when (event.keyCode) {
            in KeyEvent.KEYCODE_1..KeyEvent.KEYCODE_9 ->
                now.tiles.getOrNull(event.keyCode - KeyEvent.KEYCODE_1)?.let { { acts.count(it.what) } }
            in KeyEvent.KEYCODE_NUMPAD_1..KeyEvent.KEYCODE_NUMPAD_9 ->
                now.tiles.getOrNull(event.keyCode - KeyEvent.KEYCODE_NUMPAD_1)?.let { { acts.count(it.what) } }
            KeyEvent.KEYCODE_0, KeyEvent.KEYCODE_NUMPAD_0 -> acts::empty
            KeyEvent.KEYCODE_N -> acts::next
            KeyEvent.KEYCODE_U, KeyEvent.KEYCODE_DEL -> acts::takeBack
            KeyEvent.KEYCODE_VOLUME_UP -> volume { acts.count(lastCounted.ifEmpty { now.tiles.first().what }) }
            KeyEvent.KEYCODE_VOLUME_DOWN -> volume(acts::takeBack)
            else -> null
        }
        if (act != null && event.action == KeyEvent.ACTION_DOWN && event.repeatCount == 0) act()
        return act != null
    }

    /** The camera came back with the photo of a count, or with none. */
    fun photoTaken(jpeg: ByteArray?) {
        val count = home.typed("photo-of")
        if (count.isEmpty() || jpeg == null) return home.go(Place.Counting)
        aside(Feel.COUNTED) { it.takePhoto(count, jpeg) }
    }

    private fun volume(act: () -> Unit) = act.takeIf { home.app.settings.volumeKeys || home.app.settings.lens }

    private fun record(then: (CountingScreen) -> Unit) = home.ask({ it.counting() }, then)

    /** Whether the photo that is asked for is still to be asked for: not where the person said that it is not possible. */
    private fun asks(now: CountingScreen) = now.photoAsked?.takeIf { it.count != home.typed("photo-not") }

    private fun show(now: CountingScreen) {
        shown = now
        if (!now.open) {
            counting = null
            home.show(hostsScreen(home.look, now, firstHost))
            return
        }
        val view = counting ?: CountingView(home.look, acts).also {
            counting = it
            home.show(it.view)
        }
        view.show(now, asks(now))
    }

    private val acts = object : CountingActs {
        override fun count(what: String) {
            lastCounted = what
            act(Feel.COUNTED, { it.count(what) }) { now -> now.tiles.firstOrNull { it.what == what }?.announcement }
        }

        override fun uncount(what: String) =
            act(Feel.TAKEN_BACK, { it.uncount(what) }) { now -> now.tiles.firstOrNull { it.what == what }?.announcement }

        override fun empty() = act(Feel.COUNTED, { it.emptyPlant() }) { it.title }

        override fun next() = act(Feel.COUNTED, { it.nextPlant() }) { it.title }

        override fun takeBack() {
            val label = shown?.takeBack?.spoken
            act(Feel.TAKEN_BACK, { it.takeBack() }) { label }
        }

        override fun undecided() = home.go(Place.Undecided)

        override fun more() = home.go(if (shown?.let(::asks) == null) Place.More else Place.Photo)

        override fun key() = home.go(Place.KeyStart)

        override fun specimen(name: String): Specimen? = home.specimen(name)
    }

    /** An act of counting: felt and shown when it is durable, and spoken at the end of a burst. */
    private fun act(feel: Feel, work: (Leafturn) -> CountingScreen, spoken: (CountingScreen) -> String?) =
        home.ask(work) { now ->
            home.haptics.feel(feel)
            home.quieten()
            show(now)
            spoken(now)?.let { text -> speak(text) }
        }

    private fun speak(text: String) {
        if (home.app.settings.lens) home.speaker.say(text) else counting?.view?.let { home.announcer.say(it, text) }
    }

    /** An act from a screen beside the pad, which leads back to it. */
    private fun aside(feel: Feel, work: (Leafturn) -> CountingScreen) = home.ask(work) { now ->
        home.haptics.feel(feel)
        home.arrive(Place.Counting)
        show(now)
    }

    private fun back() = home.go(Place.Counting)

    private fun countAside(what: String) = aside(Feel.COUNTED) { it.count(what) }

    private fun countInState(what: String, state: String) = aside(Feel.COUNTED) { it.countInState(what, state) }

    private inner class PhotoOf(private val count: String) : PhotoActs {
        override fun take() {
            home.type("photo-for", "count")
            home.type("photo-of", count)
            if (!Camera.open(home)) home.say(home.look.word("phone.no-camera"))
        }

        override fun notPossible() {
            home.type("photo-not", count)
            home.go(Place.Counting)
        }

        override fun later() = home.go(Place.Counting)

        override fun more() = home.go(Place.More)
    }

    private val firstHost = object : HostsActs {
        override fun choose(host: String) = aside(Feel.COUNTED) { it.openPlant(host) }

        override fun weather() = home.go(Place.Weather)

        override fun takeBack() = aside(Feel.TAKEN_BACK) { it.takeBack() }

        override fun review() = home.go(Place.Review)
    }

    private val otherHost = object : HostsActs by firstHost {
        override fun choose(host: String) = aside(Feel.COUNTED) { it.changeHost(host) }
    }

    private val more = object : MoreActs {
        override fun details() = home.go(Place.Details())

        override fun weather() = home.go(Place.Weather)

        override fun visit() = home.go(Place.Visit())

        override fun advice() = home.go(Place.Advice)

        override fun notes() = home.go(Place.Notes)

        override fun outside() {
            shown?.let { home.go(Place.Outside(it.site)) }
        }

        override fun states() = home.go(Place.States)

        override fun hosts() = home.go(Place.Hosts)

        override fun closeInPart() = aside(Feel.COUNTED) { it.closeInPart() }

        override fun closeUnsearched() = aside(Feel.COUNTED) { it.closeUnsearched() }

        override fun redo() = aside(Feel.COUNTED) { it.redo() }

        override fun review() = home.go(Place.Review)

        override fun counting() = home.go(Place.Counting)
    }
}
