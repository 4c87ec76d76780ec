package leafturn.phone.screens

import android.view.View
import leafturn.core.AdviceScreen
import leafturn.core.CountingScreen
import leafturn.core.PhotoAsked
import leafturn.phone.look.Look
import leafturn.phone.look.Page
import leafturn.phone.look.Press

/** The second tap of an undecided count: which of these may it be? {egg, not an egg} comes first. */
fun undecidedScreen(look: Look, shown: CountingScreen, count: (String) -> Unit, back: () -> Unit): View {
    val page = Page(look, look.word("phone.undecided-title"))
    shown.undecided.forEach { own ->
        val below = if (own.number > 0u) own.value else null
        page.row(Press(own.label, tag = "undecided-${own.what}") { count(own.what) }, below)
    }
    page.press(Press(look.word("phone.back-to-counting"), tag = "counting") { back() })
    return page.view
}

/** An animal in another state than alive: one deliberate act, out of the way of the tiles. */
fun statesScreen(look: Look, shown: CountingScreen, count: (String, String) -> Unit, back: () -> Unit): View {
    val page = Page(look, look.word("phone.state-title"))
    shown.states.forEach { own ->
        page.row(Press(own.label, tag = "state-${own.what}-${own.state}") { count(own.what, own.state) })
    }
    page.press(Press(look.word("phone.back-to-counting"), tag = "counting") { back() })
    return page.view
}

/** Which milkweed it is: for the first plant, after one that was not searched whole, or to correct. */
fun hostsScreen(look: Look, shown: CountingScreen, acts: HostsActs): View {
    val page = Page(look, shown.title)
    if (shown.progress.isNotEmpty()) page.quiet(shown.progress)
    if (!shown.ended) {
        shown.hosts.forEach { own -> page.row(Press(own.label, tag = "host-${own.host}") { acts.choose(own.host) }) }
    }
    if (!shown.open) page.row(Press(look.word("phone.weather"), tag = "weather") { acts.weather() })
    shown.takeBack?.let { page.press(Press(it.text, it.spoken, "take-back") { acts.takeBack() }) }
    page.press(Press(look.word("phone.to-review"), tag = "review") { acts.review() })
    return page.view
}

interface HostsActs {
    fun choose(host: String)

    fun weather()

    fun takeBack()

    fun review()
}

interface MoreActs {
    fun advice()

    fun details()

    fun weather()

    fun visit()

    fun notes()

    fun outside()

    fun states()

    fun hosts()

    fun closeInPart()

    fun closeUnsearched()

    fun redo()

    fun review()

    fun counting()
}

interface PhotoActs {
    fun take()

    fun notPossible()

    fun later()

    fun more()
}

/** A photo is asked for, by chance: of the animal that was counted last. */
fun photoScreen(look: Look, asked: PhotoAsked, acts: PhotoActs): View {
    val page = Page(look, look.word("phone.photo"))
    page.line(asked.text)
    page.row(Press(look.word("phone.photo-later"), tag = "photo-not") { acts.notPossible() })
    page.row(Press(look.word("phone.more"), tag = "more-instead") { acts.more() })
    page.press(Press(look.word("phone.back-to-counting"), tag = "counting") { acts.later() })
    page.press(Press(look.word("phone.photo-take"), tag = "photo-take") { acts.take() }, strong = true)
    return page.view
}

/** What else can be done while counting. */
fun moreScreen(look: Look, shown: CountingScreen, advice: AdviceScreen, acts: MoreActs): View {
    val page = Page(look, shown.title)
    shown.tiles.filter { it.others.isNotEmpty() }.forEach { page.quiet("${it.label} – ${it.others}") }
    if (shown.others.isNotEmpty()) page.quiet(shown.others)
    page.row(Press(advice.title, tag = "advice") { acts.advice() }, advice.lines.firstOrNull())
    page.row(Press(look.word("phone.state"), tag = "states") { acts.states() })
    page.row(Press(look.word("phone.details"), tag = "details") { acts.details() })
    page.row(Press(look.word("phone.change-host"), tag = "hosts") { acts.hosts() })
    page.row(Press(look.word("phone.part"), tag = "in-part") { acts.closeInPart() })
    page.row(Press(look.word("phone.refused"), tag = "unsearched") { acts.closeUnsearched() })
    shown.redo?.let { page.row(Press(it.text, it.spoken, "redo") { acts.redo() }) }
    page.row(Press(look.word("phone.outside"), tag = "outside") { acts.outside() })
    page.row(Press(look.word("phone.weather"), tag = "weather") { acts.weather() })
    page.row(Press(look.word("phone.notes"), tag = "notes") { acts.notes() })
    page.row(Press(look.word("phone.visit"), tag = "visit") { acts.visit() })
    page.press(Press(look.word("phone.to-review"), tag = "review") { acts.review() })
    page.press(Press(look.word("phone.back-to-counting"), tag = "counting") { acts.counting() }, strong = true)
    return page.view
}
