package leafturn.phone.screens

import android.view.View
import leafturn.core.AdviceScreen
import leafturn.phone.look.Look
import leafturn.phone.look.Page
import leafturn.phone.look.Press

/** How many plants more, and which: to be asked for, never in the way of counting. */
fun adviceScreen(look: Look, shown: AdviceScreen, back: () -> Unit): View {
    val page = Page(look, shown.title)
    shown.lines.forEach(page::line)
    if (shown.which.isNotEmpty()) page.heading(shown.whichTitle)
    shown.which.forEach(page::line)
    page.press(Press(look.word("phone.back-to-counting"), tag = "counting") { back() }, strong = true)
    return page.view
}
