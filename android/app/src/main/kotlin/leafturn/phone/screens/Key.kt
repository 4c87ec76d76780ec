package leafturn.phone.screens

import android.text.InputType
import android.view.View
import leafturn.core.KeyQuestion
import leafturn.core.KeyScreen
import leafturn.core.KeyStartScreen
import leafturn.phone.look.Drafts
import leafturn.phone.look.Look
import leafturn.phone.look.Page
import leafturn.phone.look.Pictures
import leafturn.phone.look.Press

private const val DRAWN_WIDE = 96
private const val DRAWN_HIGH = 58

interface KeyStartActs {
    fun means(): Set<String>

    fun toggleMeans(name: String)

    fun begin(guess: String?)

    fun goOn()
}

/** Before the key: a guess, or none; and by what one can look. */
fun keyStartScreen(look: Look, shown: KeyStartScreen, pictures: Pictures, acts: KeyStartActs): View {
    val page = Page(look, shown.title)
    page.heading(look.word("phone.key-guess"))
    shown.guesses.forEach { own ->
        page.picture(Press(own.label, tag = "guess-${own.outcome}") { acts.begin(own.outcome) }, pictures.of(own.drawing, DRAWN_WIDE, DRAWN_HIGH))
    }
    page.heading(look.word("phone.key-means"))
    shown.means.forEach { own ->
        page.choice(Press(own.label, tag = "means-${own.name}") { acts.toggleMeans(own.name) }, own.name in acts.means(), alone = false)
    }
    shown.goingOn?.let { page.press(Press(it.text, it.spoken, "key-go-on") { acts.goOn() }) }
    page.press(Press(shown.noGuess.text, shown.noGuess.spoken, "no-guess") { acts.begin(null) }, strong = true)
    return page.view
}

interface KeyActs : Drafts {
    /** States marked as those between which the observer is not sure; `null` while one is to be chosen. */
    fun unsure(): Set<String>?

    fun beUnsure()

    fun toggle(answer: String)

    fun answer(character: String, answers: List<String>)

    fun couldNotLook(character: String)

    fun again(character: String)

    fun measure(character: String)

    fun beyondGuess()

    fun put()

    fun leave()
}

/** The key: one question with drawn answers; below it what the answers say so far, and what would be counted. */
fun keyScreen(look: Look, shown: KeyScreen, pictures: Pictures, acts: KeyActs): View {
    val page = Page(look, shown.title)
    shown.question?.let { question(look, page, it, pictures, acts) }
    shown.done?.let(page::line)
    shown.beyondGuess?.let { page.row(Press(it.text, it.spoken, "beyond") { acts.beyondGuess() }) }
    page.heading(shown.proposal.text)
    page.quiet(shown.proposal.percent)
    page.heading(shown.supportTitle)
    shown.support.forEach { own -> page.bar("${own.outcome.label} – ${own.percent}", own.share.toFloat()) }
    shown.disagree?.let(page::line)
    shown.reasons.forEach(page::quiet)
    (shown.answers + shown.skipped).forEach { own ->
        page.row(Press(own.question, tag = "again-${own.character}") { acts.again(own.character) }, own.answer.ifEmpty { null })
    }
    shown.notes.forEach(page::quiet)
    page.press(Press(look.word("phone.back-to-counting"), tag = "leave-key") { acts.leave() })
    shown.proposal.put?.let { page.press(Press(it.text, it.spoken, "put") { acts.put() }, strong = shown.done != null) }
    return page.view
}

private fun question(look: Look, page: Page, asked: KeyQuestion, pictures: Pictures, acts: KeyActs) {
    page.heading(asked.text)
    page.quiet(asked.by)
    val unsure = acts.unsure()
    asked.states.forEach { own ->
        val picture = pictures.of(own.drawing, DRAWN_WIDE, DRAWN_HIGH)
        if (unsure == null) {
            page.picture(Press(own.label, tag = "state-${own.answer}") { acts.answer(asked.character, listOf(own.answer)) }, picture)
        } else {
            page.choice(Press(own.label, tag = "state-${own.answer}") { acts.toggle(own.answer) }, own.answer in unsure, alone = false)
        }
    }
    asked.number?.let { number ->
        page.drawing(pictures.of(number.drawing, DRAWN_WIDE * 2, DRAWN_HIGH * 2))
        page.field(number.unit.ifEmpty { asked.text }, "key-number", acts, InputType.TYPE_CLASS_NUMBER or InputType.TYPE_NUMBER_FLAG_DECIMAL)
        page.row(Press(look.word("phone.save"), tag = "answer-number") { acts.answer(asked.character, listOf(acts.typed("key-number"))) })
        page.row(Press(look.word("phone.measure"), tag = "measure") { acts.measure(asked.character) })
    }
    asked.notSure?.let { own ->
        if (unsure == null) {
            page.row(Press(own.text, own.spoken, "not-sure") { acts.beUnsure() })
        } else {
            page.row(Press(look.word("phone.save"), tag = "answer-unsure") { acts.answer(asked.character, unsure.toList()) })
        }
    }
    page.row(Press(asked.couldNotLook.text, asked.couldNotLook.spoken, "could-not-look") { acts.couldNotLook(asked.character) })
}
