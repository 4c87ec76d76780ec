package leafturn.phone.screens

import android.view.View
import leafturn.core.CautionsScreen
import leafturn.core.HeatScreen
import leafturn.core.Licence
import leafturn.core.MineScreen
import leafturn.core.SettingsScreen
import leafturn.phone.look.Form
import leafturn.phone.look.Look
import leafturn.phone.look.Page
import leafturn.phone.look.Press

interface SettingsActs {
    fun practice()

    fun cautions()

    fun mine()

    fun licences()
}

/** What a person sets: every press is kept at once. */
fun settingsScreen(look: Look, shown: SettingsScreen, form: Form, acts: SettingsActs): View {
    val page = Page(look, shown.title)
    page.row(Press(look.word("phone.cautions"), tag = "cautions") { acts.cautions() })
    page.row(Press(look.word("phone.practice"), tag = "practice") { acts.practice() })
    page.row(Press(look.word("phone.mine"), tag = "mine") { acts.mine() })
    form.choices(page, look.word("phone.hand"), "hand", shown.hands)
    form.choices(page, look.word("phone.language"), "language", shown.languages)
    form.choices(page, look.word("phone.theme"), "theme", shown.themes)
    form.choices(page, look.word("phone.units"), "units", shown.units)
    form.choices(page, look.word("phone.counting"), "on", shown.switches, several = true)
    page.row(Press(look.word("phone.licences"), tag = "licences") { acts.licences() })
    return page.view
}

/** Cards to be read before going out: sap and eyes first; and how hot it feels. */
fun cautionsScreen(look: Look, shown: CautionsScreen, heat: HeatScreen?, form: Form, feel: () -> Unit): View {
    val page = Page(look, shown.title)
    page.quiet(shown.lead)
    shown.cards.forEach { own ->
        page.heading(own.title)
        page.line(own.text)
    }
    page.heading(shown.heatTitle)
    form.number(page, "air", leafturn.core.TypedField(shown.airLabel, ""))
    form.number(page, "humidity", leafturn.core.TypedField(shown.humidityLabel, ""))
    heat?.let {
        page.heading(it.index)
        page.line(it.category)
        it.notes.forEach(page::quiet)
    }
    page.press(Press(shown.heatTitle, tag = "heat") { feel() })
    return page.view
}

/** What this phone holds of the person: to be seen, handed over, and deleted after a second, named confirmation. */
fun mineScreen(look: Look, shown: MineScreen, sure: Boolean, acts: MineActs): View {
    val page = Page(look, shown.title)
    shown.lines.forEach(page::line)
    shown.observers.forEach { own ->
        page.row(Press(own.label, tag = "forget-${own.name}") { acts.forget(own.name) }, look.word("phone.forget"))
    }
    page.row(Press(shown.export.text, shown.export.spoken, "export") { acts.export() })
    if (sure) {
        page.heading(shown.delete.text)
        page.line(shown.deleteLead)
        page.row(Press(shown.delete.text, "${shown.delete.spoken}. ${shown.deleteLead}", "delete-sure") { acts.delete() })
    } else {
        page.row(Press(shown.delete.text, shown.delete.spoken, "delete") { acts.confirm() })
    }
    page.press(Press(look.word("phone.back"), tag = "back") { acts.back() }, strong = true)
    return page.view
}

interface MineActs {
    fun forget(observer: String)

    fun export()

    fun confirm()

    fun delete()

    fun back()
}

/** What the app is made of. */
fun licencesScreen(look: Look, parts: List<Licence>): View {
    val page = Page(look, look.word("phone.licences"))
    page.line(look.word("phone.licence"))
    parts.forEach { own ->
        // Names without a space may be broken behind their hyphens.
        page.line(own.part.replace(Regex("[-_]"), "$0\u200B"))
        page.quiet(own.licence)
    }
    return page.view
}
