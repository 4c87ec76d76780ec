package leafturn.phone.screens

import android.text.InputType
import android.view.View
import leafturn.core.Choice
import leafturn.core.PrecisionChoice
import leafturn.core.SiteScreen
import leafturn.phone.look.Form
import leafturn.phone.look.Look
import leafturn.phone.look.Page
import leafturn.phone.look.Press

interface SiteActs {
    fun visit(visit: String)

    fun notes()

    fun season()

    fun save()
}

/** What is kept of a site: where it is, how finely that may be published, and its visits. */
fun siteScreen(look: Look, shown: SiteScreen, form: Form, acts: SiteActs): View {
    val page = Page(look, look.word("phone.site"))
    page.line(shown.name.value)
    page.quiet(shown.place)
    page.row(Press(shown.season.text, shown.season.spoken, "season") { acts.season() })
    page.row(Press(shown.notes.text, shown.notes.spoken, "notes") { acts.notes() })
    shown.visits.forEach { own -> page.row(Press(own.text, tag = "visit-${own.visit}") { acts.visit(own.visit) }) }
    form.line(page, "name", shown.name)
    form.number(page, "stems", shown.stems)
    precision(look, page, form, shown.precisions)
    form.choices(page, look.word("phone.land"), "land", shown.land)
    form.choices(page, look.word("phone.danaus"), "danaus", shown.otherDanaus)
    page.press(Press(look.word("phone.save"), tag = "save") { acts.save() }, strong = true)
    return page.view
}

/** How finely the place may be published; what the choice means stands below. */
private fun precision(look: Look, page: Page, form: Form, all: List<PrecisionChoice>) {
    form.choices(page, look.word("phone.precision"), "precision", all.map { Choice(it.precision.name, it.label, it.chosen) }, must = true)
    all.firstOrNull { it.precision.name == form.one("precision") }?.let { page.quiet(it.meaning) }
}

interface AddSiteActs : leafturn.phone.look.Drafts {
    fun precisions(): List<PrecisionChoice>

    fun choose(precision: PrecisionChoice)

    /** The places of the file that was opened last. */
    fun found(): List<leafturn.core.PlaceFound>

    fun take(found: leafturn.core.PlaceFound)

    fun here()

    fun corner()

    fun file()

    fun save()
}

/** Adding a site: by its coordinates, by standing in it, by walking around it, or from a file. */
fun addSiteScreen(look: Look, acts: AddSiteActs): View {
    val page = Page(look, look.word("phone.add-site"))
    val degrees = InputType.TYPE_CLASS_NUMBER or InputType.TYPE_NUMBER_FLAG_DECIMAL or InputType.TYPE_NUMBER_FLAG_SIGNED
    page.field(look.word("phone.site-name"), "site-name", acts)
    page.field(look.word("phone.latitude"), "latitude", acts, degrees)
    page.field(look.word("phone.longitude"), "longitude", acts, degrees)
    page.row(Press(look.word("phone.here"), tag = "here") { acts.here() })
    page.row(Press(look.word(if (acts.typed("walking") == "corners") "phone.corner" else "phone.edge"), tag = "corner") { acts.corner() })
    page.row(Press(look.word("phone.from-file"), tag = "file") { acts.file() })
    acts.found().forEachIndexed { at, own ->
        val words = listOf(own.name, own.text).filter { it.isNotEmpty() }.joinToString(". ")
        page.choice(Press(words, tag = "found-$at") { acts.take(own) }, own.place == acts.typed("found"))
    }
    page.field(look.word("phone.stems-expected"), "site-stems", acts, InputType.TYPE_CLASS_NUMBER)
    page.heading(look.word("phone.precision"))
    acts.precisions().forEach { own ->
        page.choice(Press(own.label, tag = "precision-${own.precision.name.lowercase()}") { acts.choose(own) }, own.chosen)
        if (own.chosen) page.quiet(own.meaning)
    }
    page.press(Press(look.word("phone.save"), tag = "save") { acts.save() }, strong = true)
    return page.view
}
