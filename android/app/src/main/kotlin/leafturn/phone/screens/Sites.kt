package leafturn.phone.screens

import android.view.View
import leafturn.core.JoinScreen
import leafturn.core.SitesScreen
import leafturn.phone.look.Look
import leafturn.phone.look.Page
import leafturn.phone.look.Press

interface SitesActs {
    fun open(site: String)

    fun goOn()

    fun addSite()

    fun near()

    fun join()

    fun skipJoin()

    fun sending()

    fun settings()
}

/** The first screen: the sites, what waits, and the way back to a visit that goes on. */
fun sitesScreen(look: Look, shown: SitesScreen, join: JoinScreen, acts: SitesActs): View {
    val page = Page(look, shown.title)
    shown.folding?.let(page::quiet)
    shown.none?.let(page::line)
    shown.sites.forEach { row ->
        page.row(Press(row.name, tag = "site-${row.site}") { acts.open(row.site) }, listOfNotNull(row.last, row.due, row.distance).joinToString(". "))
    }
    val add = Press(look.word("phone.add-site"), tag = "add-site") { acts.addSite() }
    if (shown.none == null) page.row(add)
    if (shown.sites.size > 1 && shown.sites.none { it.distance != null }) {
        page.row(Press(look.word("phone.near"), tag = "near") { acts.near() })
    }
    if (join.ask) {
        page.heading(join.title)
        page.quiet(join.lead)
        page.row(Press(join.title, tag = "join") { acts.join() })
        page.row(Press(look.word("phone.skip"), "${join.title}. ${look.word("phone.skip")}", "skip-join") { acts.skipJoin() })
    }
    page.press(Press(look.word("phone.settings"), tag = "settings") { acts.settings() })
    page.press(Press(shown.waits, spoken = "${look.word("phone.send")}. ${shown.waits}", tag = "sending") { acts.sending() })
    shown.goOn?.let { page.press(Press(it, tag = "go-on") { acts.goOn() }, strong = true) }
    if (shown.none != null) page.press(add, strong = true)
    return page.view
}
