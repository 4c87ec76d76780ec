package leafturn.phone.screens

import android.view.View
import leafturn.core.MatchPair
import leafturn.core.MatchScreen
import leafturn.phone.look.Look
import leafturn.phone.look.Numbers
import leafturn.phone.look.Page
import leafturn.phone.look.Press
import leafturn.phone.look.numbers

interface MatchActs {
    /** What was said so far of a stage of a pair. */
    fun both(pair: MatchPair, what: String): Int?

    fun say(pair: MatchPair, what: String, both: Int)

    fun keep(pair: MatchPair)

    fun same(pair: MatchPair)

    fun different(pair: MatchPair)

    fun review()
}

/** Plants that two phones looked at: how many of each stage did both see? */
fun matchScreen(look: Look, shown: MatchScreen, acts: MatchActs): View {
    val page = Page(look, shown.title)
    page.quiet(shown.lead)
    shown.none?.let(page::line)
    shown.pairs.forEachIndexed { at, pair ->
        page.heading(pair.title)
        pair.waits?.let(page::line)
        if (pair.waits == null) stages(look, page, at, pair, acts)
        page.row(Press(pair.same.text, "${pair.title}. ${pair.same.spoken}", "same-$at") { acts.same(pair) })
        page.row(Press(pair.different.text, "${pair.title}. ${pair.different.spoken}", "different-$at") { acts.different(pair) })
    }
    page.press(Press(look.word("phone.to-review"), tag = "review") { acts.review() }, strong = true)
    return page.view
}

private fun stages(look: Look, page: Page, at: Int, pair: MatchPair, acts: MatchActs) {
    pair.rows.forEach { row ->
        page.line(row.label)
        page.quiet(row.counted)
        val tag = "both-$at-${row.what}"
        page.numbers(look, Numbers(row.label, tag, row.most.toInt(), acts.both(pair, row.what)) { acts.say(pair, row.what, it) })
    }
    if (pair.rows.isEmpty()) return
    page.row(Press(look.word("phone.save"), "${pair.title}. ${look.word("phone.save")}", "keep-$at") { acts.keep(pair) })
}
