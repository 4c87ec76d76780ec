package leafturn.phone.screens

import android.view.View
import leafturn.core.PracticeMarks
import leafturn.core.PracticeScreen
import leafturn.phone.look.Look
import leafturn.phone.look.Page
import leafturn.phone.look.Picture
import leafturn.phone.look.Press

/** The size of what is shown, in dp. */
const val PRACTICE_WIDE = 288
const val PRACTICE_HIGH = 180

/** What is it? A drawing without names, and what can be answered. */
fun practiceScreen(look: Look, shown: PracticeScreen, picture: Picture, answer: (String) -> Unit): View {
    val page = Page(look, shown.title)
    page.quiet(shown.progress)
    page.drawing(picture)
    page.heading(shown.asks)
    shown.noScale?.let(page::quiet)
    shown.choices.forEach { own -> page.row(Press(own.label, tag = "practice-${own.name}") { answer(own.name) }) }
    (shown.result + shown.confused + shown.lookAt).forEach(page::line)
    page.quiet(shown.note)
    return page.view
}

/** What is right, with the part that decides ringed. */
fun practiceMarkedScreen(look: Look, shown: PracticeMarks, picture: Picture, goOn: () -> Unit): View {
    val page = Page(look, shown.next.title)
    page.heading(shown.verdict)
    page.drawing(picture)
    page.line(shown.decides)
    page.press(Press(shown.goOn.text, shown.goOn.spoken, "practice-go-on") { goOn() }, strong = true)
    return page.view
}
