package leafturn.phone.lead

import leafturn.core.BothSaw
import leafturn.core.ClosingScreen
import leafturn.core.FindingLead
import leafturn.core.Leafturn
import leafturn.core.MatchPair
import leafturn.core.MatchScreen
import leafturn.core.ReviewScreen
import leafturn.phone.MainActivity
import leafturn.phone.Place
import leafturn.phone.device.Feel
import leafturn.phone.screens.MatchActs
import leafturn.phone.screens.ReviewActs
import leafturn.phone.screens.matchScreen
import leafturn.phone.screens.reviewScreen

/** The visit looked over, from what looks odd to where it is, and plants that two phones looked at. */
class ReviewLead(private val home: MainActivity) {
    fun review() = looked { it.review() }

    fun matching() = home.ask({ it.matching() }, ::show)

    /** The review as the core gives it; after the end with what is to be said of the visit in three lines. */
    private class Looked(val review: ReviewScreen, val closing: ClosingScreen?, val matching: MatchScreen)

    private fun looked(work: (Leafturn) -> ReviewScreen) =
        home.ask({ core -> work(core).let { Looked(it, if (it.ended) core.closing() else null, core.matching()) } }, ::show)

    private fun show(now: Looked): Unit = home.show(
        reviewScreen(
            home.look, now.review, now.closing, now.matching.takeIf { it.pairs.isNotEmpty() },
            object : ReviewActs {
                override fun end() = looked { it.endVisit() }

                override fun takeBack() = looked { it.takeBack(); it.review() }

                override fun counting() = home.go(Place.Counting)

                override fun sites() = home.go(Place.Sites)

                override fun sending() = home.go(Place.Sending)

                override fun matching() = home.go(Place.Matching)

                override fun jump(lead: FindingLead) = this@ReviewLead.jump(lead)
            },
        ),
    )

    private fun jump(lead: FindingLead) = when (lead) {
        is FindingLead.Plant -> home.go(Place.Details(lead.check))
        is FindingLead.TwoLooks -> home.go(Place.Matching)
        is FindingLead.Visit -> home.go(Place.Visit(Place.Review.name))
        is FindingLead.Nowhere -> Unit
    }

    private fun show(now: MatchScreen): Unit = home.show(
        matchScreen(
            home.look, now,
            object : MatchActs {
                override fun both(pair: MatchPair, what: String) =
                    home.typed(field(pair, what)).toIntOrNull() ?: pair.rows.first { it.what == what }.both?.toInt()

                override fun say(pair: MatchPair, what: String, both: Int) {
                    home.type(field(pair, what), both.toString())
                    show(now)
                }

                override fun keep(pair: MatchPair) {
                    val said = pair.rows.mapNotNull { row -> both(pair, row.what)?.let { BothSaw(row.what, it.toUInt()) } }
                    home.ask({ it.matchChecks(pair.checks, said) }) {
                        home.haptics.feel(Feel.COUNTED)
                        pair.rows.forEach { row -> home.type(field(pair, row.what), "") }
                        show(it)
                    }
                }

                override fun same(pair: MatchPair) = compared { it.samePlant(pair.checks) }

                override fun different(pair: MatchPair) = compared { it.differentPlants(pair.checks) }

                override fun review() = home.go(Place.Review)
            },
        ),
    )

    private fun compared(work: (Leafturn) -> ReviewScreen) = home.ask(work) {
        home.haptics.feel(Feel.COUNTED)
        home.go(Place.Review)
    }

    private fun field(pair: MatchPair, what: String) = "both ${pair.checks.joinToString(" ")} $what"
}
