package leafturn.phone.screens

import android.view.View
import leafturn.phone.Hand
import leafturn.phone.Settings
import leafturn.phone.Theme
import leafturn.phone.look.Look
import leafturn.phone.look.Page
import leafturn.phone.look.Press

/** What a person sets. Every press writes the setting and draws everything again. */
fun settingsScreen(look: Look, settings: Settings, changed: () -> Unit, cautions: () -> Unit): View {
    val page = Page(look, look.word("phone.settings"))
    fun press(text: String, tag: String, set: () -> Unit) = Press(text, tag = tag) {
        set()
        changed()
    }
    page.row(Press(look.word("phone.cautions"), tag = "cautions") { cautions() })
    page.heading(look.word("phone.hand"))
    Hand.entries.forEach { own ->
        val name = own.name.lowercase()
        page.choice(press(look.word("phone.hand.$name"), "hand-$name") { settings.hand = own }, settings.hand == own)
    }
    page.heading(look.word("phone.language"))
    LANGUAGES.forEach { (tag, name) ->
        page.choice(press(name, "language-$tag") { settings.language = tag }, settings.language.substringBefore('-') == tag)
    }
    page.heading(look.word("phone.theme"))
    Theme.entries.forEach { own ->
        val name = own.name.lowercase()
        page.choice(press(look.word("phone.theme.$name"), "theme-$name") { settings.theme = own }, settings.theme == own)
    }
    page.heading(look.word("phone.counting"))
    page.switch(press(look.word("phone.buzz"), "buzz") { settings.buzz = !settings.buzz }, settings.buzz)
    page.switch(press(look.word("phone.sound"), "sound") { settings.sound = !settings.sound }, settings.sound)
    page.switch(press(look.word("phone.volume-keys"), "volume-keys") { settings.volumeKeys = !settings.volumeKeys }, settings.volumeKeys)
    page.heading(look.word("phone.licences"))
    page.quiet(look.word("phone.licence"))
    return page.view
}

/** Cards to be read before going out: sap and eyes first. */
fun cautionsScreen(look: Look): View {
    val page = Page(look, look.word("phone.cautions"))
    CAUTIONS.forEach { own ->
        page.heading(look.word("cautions.$own-title"))
        page.line(look.word("cautions.$own"))
    }
    return page.view
}

/** Each by the name that its speakers give it. */
private val LANGUAGES = listOf("en" to "English", "es" to "Español", "fr" to "Français")
private val CAUTIONS = listOf("sap", "heat", "ticks", "roads", "permission", "animals")
