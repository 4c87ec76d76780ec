package leafturn.phone.screens

import android.view.View
import leafturn.core.CountingScreen
import leafturn.phone.look.Look
import leafturn.phone.look.Page
import leafturn.phone.look.Press

/** The second tap of an undecided count: which of these may it be? {egg, not an egg} comes first. */
fun undecidedScreen(look: Look, shown: CountingScreen, count: (String) -> Unit): View {
    val page = Page(look, look.word("phone.undecided-title"))
    shown.undecided.forEach { own ->
        val below = if (own.number > 0u) own.value else null
        page.row(Press(own.label, tag = "undecided-${own.what}") { count(own.what) }, below)
    }
    return page.view
}

/** An animal in another state than alive: one deliberate act, out of the way of the tiles. */
fun statesScreen(look: Look, shown: CountingScreen, count: (String, String) -> Unit): View {
    val page = Page(look, look.word("phone.state-title"))
    shown.states.forEach { own ->
        page.row(Press(own.label, tag = "state-${own.what}-${own.state}") { count(own.what, own.state) })
    }
    return page.view
}

/** Which milkweed it is: for the first plant, after one that was not searched whole, or to correct. */
fun hostsScreen(look: Look, shown: CountingScreen, acts: HostsActs): View {
    val page = Page(look, shown.title)
    if (shown.progress.isNotEmpty()) page.quiet(shown.progress)
    if (!shown.ended) {
        shown.hosts.forEach { own -> page.row(Press(own.label, tag = "host-${own.host}") { acts.choose(own.host) }) }
    }
    shown.takeBack?.let { page.press(Press(it.text, it.spoken, "take-back") { acts.takeBack() }) }
    page.press(Press(look.word("phone.to-review"), tag = "review") { acts.review() })
    return page.view
}

interface HostsActs {
    fun choose(host: String)

    fun takeBack()

    fun review()
}

interface MoreActs {
    fun states()

    fun hosts()

    fun closeInPart()

    fun closeUnsearched()

    fun redo()

    fun review()
}

/** What else can be done while counting. */
fun moreScreen(look: Look, shown: CountingScreen, acts: MoreActs): View {
    val page = Page(look, shown.title)
    shown.tiles.filter { it.others.isNotEmpty() }.forEach { page.quiet("${it.label}: ${it.others}") }
    page.row(Press(look.word("phone.state"), tag = "states") { acts.states() })
    page.row(Press(look.word("phone.change-host"), tag = "hosts") { acts.hosts() })
    page.row(Press(look.word("phone.part"), tag = "in-part") { acts.closeInPart() })
    page.row(Press(look.word("phone.refused"), tag = "unsearched") { acts.closeUnsearched() })
    shown.redo?.let { page.row(Press(it.text, it.spoken, "redo") { acts.redo() }) }
    // The code may be broken at its hyphens alone.
    page.quiet(shown.code.replace("-", "-\u200B"))
    page.press(Press(look.word("phone.to-review"), tag = "review") { acts.review() })
    return page.view
}
