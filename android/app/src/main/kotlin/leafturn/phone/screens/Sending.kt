package leafturn.phone.screens

import android.text.InputType
import android.view.View
import leafturn.core.JoinScreen
import leafturn.core.SendingScreen
import leafturn.phone.look.Drafts
import leafturn.phone.look.Look
import leafturn.phone.look.Page
import leafturn.phone.look.Press

interface SendingActs {
    fun sendNow()

    fun join()

    fun export()

    fun sites()
}

/** What waits, what went, and why not. */
fun sendingScreen(look: Look, shown: SendingScreen, busy: Boolean, acts: SendingActs): View {
    val page = Page(look, shown.title)
    page.heading(if (busy) look.word("phone.sending") else shown.headline)
    shown.lines.forEach(page::line)
    val join = Press(look.word("phone.join"), tag = "join") { acts.join() }
    if (shown.joined) page.row(join)
    page.row(Press(look.word("phone.export"), tag = "export") { acts.export() })
    page.press(Press(look.word("phone.to-sites"), tag = "to-sites") { acts.sites() })
    if (!shown.joined) page.press(join, strong = true)
    if (shown.joined && !busy) page.press(Press(look.word("phone.send-now"), tag = "send-now") { acts.sendNow() }, strong = true)
    return page.view
}

interface JoinActs : Drafts {
    /** The address in an invitation that was scanned; empty where none was. */
    fun scanned(): String

    fun join()

    fun forgetScanned()
}

/**
 * Joining by the code of an invitation; it can be left for later, and done again. A scanned one is joined when the person
 * says so, for any page can show a link.
 */
fun joinScreen(look: Look, shown: JoinScreen, acts: JoinActs): View {
    val page = Page(look, shown.title)
    page.quiet(shown.lead)
    if (acts.scanned().isEmpty()) {
        page.field(shown.addressLabel, "station", acts, InputType.TYPE_CLASS_TEXT or InputType.TYPE_TEXT_VARIATION_URI)
        page.field(
            shown.codeLabel, "code", acts,
            InputType.TYPE_CLASS_TEXT or InputType.TYPE_TEXT_FLAG_CAP_CHARACTERS or InputType.TYPE_TEXT_FLAG_NO_SUGGESTIONS,
        )
    } else {
        page.heading(shown.addressLabel)
        page.line(acts.scanned())
        page.row(Press(look.word("phone.skip"), tag = "forget-scanned") { acts.forgetScanned() })
    }
    page.press(Press(shown.title, tag = "join-now") { acts.join() }, strong = true)
    return page.view
}
