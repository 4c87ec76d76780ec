package leafturn.phone.screens

import android.view.View
import leafturn.core.DetailsScreen
import leafturn.core.NotesScreen
import leafturn.core.OutsideScreen
import leafturn.core.VisitScreen
import leafturn.core.WeatherScreen
import leafturn.phone.look.Form
import leafturn.phone.look.Look
import leafturn.phone.look.Page
import leafturn.phone.look.Press

/** What is said of a plant beside its counts: nothing of it has to be. */
fun detailsScreen(look: Look, shown: DetailsScreen, found: List<String>, form: Form, photo: () -> Unit, save: () -> Unit): View {
    val page = Page(look, shown.title)
    found.forEach(page::line)
    page.row(Press(shown.photo.text, shown.photo.spoken, "photo-of-plant") { photo() }, shown.photos.toString().takeIf { shown.photos > 0u })
    form.number(page, "height", shown.height)
    shown.stems?.let { form.number(page, "stems", it) }
    form.choices(page, look.word("phone.condition"), "condition", shown.condition)
    form.choices(page, look.word("phone.growth"), "growth", shown.growth, several = true)
    form.choices(page, look.word("phone.fate"), "fate", shown.fate)
    form.choices(page, look.word("phone.flowers"), "flowers", shown.flowers)
    shown.company.forEach { own -> form.choices(page, own.label, "company-${own.who}", own.classes) }
    page.press(Press(look.word("phone.save"), tag = "save") { save() }, strong = true)
    return page.view
}

/** The weather in words, as it is felt: nothing has to be measured. */
fun weatherScreen(look: Look, shown: WeatherScreen, form: Form, save: () -> Unit): View {
    val page = Page(look, shown.title)
    page.quiet(shown.said)
    form.choices(page, look.word("phone.cloud"), "cloud", shown.cloud)
    form.choices(page, look.word("phone.wind"), "wind", shown.wind)
    form.choices(page, look.word("phone.rain"), "rain", shown.rain)
    form.number(page, "air", shown.air)
    page.press(Press(look.word("phone.save"), tag = "save") { save() }, strong = true)
    return page.view
}

/** The visit as a whole: whether milkweed was up at all, minutes of search, the code for a second phone. */
fun visitScreen(look: Look, shown: VisitScreen, form: Form, link: () -> Unit, save: () -> Unit): View {
    val page = Page(look, shown.title)
    page.line(shown.begun)
    shown.observers.forEach(page::line)
    page.quiet(shown.weather)
    form.choices(page, look.word("phone.hosts-up"), "hosts-up", shown.hostsUp)
    form.number(page, "minutes", shown.minutes)
    // The code may be broken at its hyphens alone.
    page.quiet(shown.code.replace("-", "-\u200B"))
    form.words(page, "beside", look.word("phone.beside"))
    page.row(Press(look.word("phone.add"), tag = "link") { link() })
    page.press(Press(look.word("phone.save"), tag = "save") { save() }, strong = true)
    return page.view
}

/** Notes in the person's own words, each of which can be erased. */
fun notesScreen(look: Look, shown: NotesScreen, form: Form, erase: (String) -> Unit, add: () -> Unit): View {
    val page = Page(look, shown.title)
    page.quiet(shown.lead)
    shown.notes.forEach { own ->
        page.quiet(own.day)
        page.line(own.text)
        own.erase?.let { page.row(Press(it.text, "${it.spoken} – ${own.text}", "erase-${own.note}") { erase(own.note) }) }
    }
    form.words(page, "text", look.word("phone.notes"))
    page.press(Press(look.word("phone.add"), tag = "add-note") { add() }, strong = true)
    return page.view
}

/** An animal that is on none of the plants that were searched: a page of its own, which no slip of a thumb reaches. */
fun outsideScreen(look: Look, shown: OutsideScreen, form: Form, photo: (String) -> Unit, save: () -> Unit): View {
    val page = Page(look, shown.title)
    page.quiet(shown.lead)
    form.choices(page, look.word("phone.outside"), "what", shown.whats)
    form.choices(page, look.word("phone.on"), "on", shown.on)
    shown.finds.forEach { own ->
        page.line(own.text)
        own.photo?.let { page.row(Press(it.text, "${it.spoken} – ${own.text}", "photo-${own.find}") { photo(own.find) }) }
    }
    page.press(Press(look.word("phone.save"), tag = "save") { save() }, strong = true)
    return page.view
}
