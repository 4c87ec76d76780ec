package leafturn.phone.screens

import android.graphics.Bitmap
import android.text.InputType
import android.view.View
import leafturn.core.MeasureQuestion
import leafturn.core.MeasureScreen
import leafturn.core.Point
import leafturn.phone.look.Board
import leafturn.phone.look.Drafts
import leafturn.phone.look.Look
import leafturn.phone.look.Page
import leafturn.phone.look.Press

interface MeasureActs : Drafts {
    /** The line along the animal, and the one that it is compared with. */
    fun lines(): List<List<Point>>

    fun onAnimal(): Boolean

    fun turnTo(animal: Boolean)

    fun put(point: Point)

    fun takePointBack()

    fun coin(): UInt?

    fun chooseCoin(coin: UInt?)

    fun takePhoto()

    fun answer()
}

private const val BOARD_HIGH = 300

/** A photo with two lines on it, and what the second one is. */
fun measureScreen(look: Look, all: MeasureScreen, question: MeasureQuestion, photo: Bitmap?, acts: MeasureActs): View {
    val page = Page(look, all.title)
    page.line(question.question.text)
    if (photo == null) {
        all.lines.forEach(page::quiet)
        page.press(Press(look.word("phone.photo-take"), tag = "photo-take") { acts.takePhoto() }, strong = true)
        return page.view
    }
    page.block(Board(look, photo, acts::put).apply { lines = acts.lines() }, BOARD_HIGH)
    page.choice(Press(look.word("phone.measure-animal"), tag = "on-animal") { acts.turnTo(animal = true) }, acts.onAnimal())
    page.choice(Press(look.word("phone.measure-against"), tag = "on-scale") { acts.turnTo(animal = false) }, !acts.onAnimal())
    page.row(Press(look.word("phone.measure-point-back"), tag = "point-back") { acts.takePointBack() })
    all.lines.forEach(page::quiet)
    if (question.needsScale) {
        all.coins.forEach { own ->
            page.choice(Press(own.label, tag = "coin-${own.coin}") { acts.chooseCoin(own.coin) }, acts.coin() == own.coin)
        }
        page.choice(Press(look.word("phone.measure-ruler"), tag = "ruler") { acts.chooseCoin(null) }, acts.coin() == null)
        if (acts.coin() == null) {
            page.field(look.word("phone.measure-length"), "length", acts, InputType.TYPE_CLASS_NUMBER or InputType.TYPE_NUMBER_FLAG_DECIMAL)
        }
    }
    page.row(Press(look.word("phone.photo-take"), tag = "photo-take") { acts.takePhoto() })
    page.press(Press(look.word("phone.save"), tag = "answer-measured") { acts.answer() }, strong = true)
    return page.view
}
