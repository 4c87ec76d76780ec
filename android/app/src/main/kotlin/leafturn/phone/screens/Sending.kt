package leafturn.phone.screens

import android.text.InputType
import android.view.View
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

/** Joining by the code of an invitation; it can be skipped, and done again. */
fun joinScreen(look: Look, drafts: Drafts, join: () -> Unit): View {
    val page = Page(look, look.word("phone.join"))
    val address = InputType.TYPE_CLASS_TEXT or InputType.TYPE_TEXT_VARIATION_URI
    val code = InputType.TYPE_CLASS_TEXT or InputType.TYPE_TEXT_FLAG_CAP_CHARACTERS or InputType.TYPE_TEXT_FLAG_NO_SUGGESTIONS
    page.field(look.word("phone.address"), "station", drafts, address)
    page.field(look.word("phone.code"), "code", drafts, code)
    page.press(Press(look.word("phone.join"), tag = "join-now") { join() }, strong = true)
    return page.view
}
