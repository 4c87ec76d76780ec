package leafturn.phone.screens

import android.view.View
import leafturn.core.ClosingScreen
import leafturn.core.FindingLead
import leafturn.core.MatchScreen
import leafturn.core.ReviewScreen
import leafturn.phone.look.Look
import leafturn.phone.look.Page
import leafturn.phone.look.Press

interface ReviewActs {
    fun jump(lead: FindingLead)

    fun matching()

    fun end()

    fun takeBack()

    fun counting()

    fun sites()

    fun sending()
}

/** The visit looked over: totals, what looks odd with the way there, plant by plant; then its end, which can be taken back. */
fun reviewScreen(look: Look, shown: ReviewScreen, closing: ClosingScreen?, twice: MatchScreen?, acts: ReviewActs): View {
    val page = Page(look, closing?.title ?: shown.title)
    closing?.lines?.forEach(page::line)
    page.line(shown.site)
    shown.totals.forEach(page::line)
    page.quiet(shown.weather)
    page.heading(look.word("phone.findings"))
    shown.nothingOdd?.let(page::line)
    shown.findings.zip(shown.leads).forEachIndexed { at, (own, lead) ->
        if (lead is FindingLead.Nowhere) page.line(own) else page.row(Press(own, tag = "finding-$at") { acts.jump(lead) })
    }
    twice?.let { page.row(Press(it.title, tag = "matching") { acts.matching() }) }
    page.heading(look.word("phone.plants"))
    shown.rows.forEach { row ->
        page.line(row.plant)
        page.quiet((listOf(row.found) + row.findings.map { shown.findings[it.toInt()] }).joinToString(". "))
    }
    if (shown.ended) {
        shown.takeBack?.let { page.press(Press(it.text, it.spoken, "take-back") { acts.takeBack() }) }
        page.press(Press(look.word("phone.to-sites"), tag = "to-sites") { acts.sites() })
        page.press(Press(look.word("phone.send"), tag = "sending") { acts.sending() }, strong = true)
    } else {
        page.press(Press(look.word("phone.end"), tag = "end") { acts.end() })
        page.press(Press(look.word("phone.back-to-counting"), tag = "counting") { acts.counting() }, strong = true)
    }
    return page.view
}
