package leafturn.phone.screens

import android.text.InputType
import android.view.View
import leafturn.core.Precision
import leafturn.core.SitesScreen
import leafturn.phone.look.Drafts
import leafturn.phone.look.Look
import leafturn.phone.look.Page
import leafturn.phone.look.Press

interface SitesActs {
    fun open(site: String)

    fun goOn()

    fun addSite()

    fun sending()

    fun settings()
}

/** The first screen: the sites, what waits, and the way back to a visit that goes on. */
fun sitesScreen(look: Look, shown: SitesScreen, acts: SitesActs): View {
    val page = Page(look, shown.title)
    shown.folding?.let(page::quiet)
    shown.none?.let(page::line)
    shown.sites.forEach { row ->
        page.row(Press(row.name, tag = "site-${row.site}") { acts.open(row.site) }, listOfNotNull(row.last, row.due, row.distance).joinToString(". "))
    }
    val add = Press(look.word("phone.add-site"), tag = "add-site") { acts.addSite() }
    if (shown.none == null) page.row(add)
    page.press(Press(look.word("phone.settings"), tag = "settings") { acts.settings() })
    page.press(Press(shown.waits, spoken = "${look.word("phone.send")}. ${shown.waits}", tag = "sending") { acts.sending() })
    shown.goOn?.let { page.press(Press(it, tag = "go-on") { acts.goOn() }, strong = true) }
    if (shown.none != null) page.press(add, strong = true)
    return page.view
}

interface AddSiteActs : Drafts {
    fun precision(): Precision

    fun choose(precision: Precision)

    fun here()

    fun corner()

    fun save()
}

/** Adding a site by its name and coordinates. */
fun addSiteScreen(look: Look, acts: AddSiteActs): View {
    val page = Page(look, look.word("phone.add-site"))
    val degrees = InputType.TYPE_CLASS_NUMBER or InputType.TYPE_NUMBER_FLAG_DECIMAL or InputType.TYPE_NUMBER_FLAG_SIGNED
    page.field(look.word("phone.site-name"), "site-name", acts)
    page.field(look.word("phone.latitude"), "latitude", acts, degrees)
    page.field(look.word("phone.longitude"), "longitude", acts, degrees)
    page.row(Press(look.word("phone.here"), tag = "here") { acts.here() })
    page.row(Press(look.word(if (acts.typed("walking") == "corners") "phone.corner" else "phone.edge"), tag = "corner") { acts.corner() })
    page.field(look.word("phone.stems-expected"), "site-stems", acts, InputType.TYPE_CLASS_NUMBER)
    page.heading(look.word("phone.precision"))
    Precision.entries.forEach { own ->
        val word = look.word("phone.precision.${own.name.lowercase()}")
        page.choice(Press(word, tag = "precision-${own.name.lowercase()}") { acts.choose(own) }, acts.precision() == own)
    }
    page.press(Press(look.word("phone.save"), tag = "save") { acts.save() }, strong = true)
    return page.view
}
