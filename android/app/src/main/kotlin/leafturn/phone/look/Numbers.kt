package leafturn.phone.look

import android.view.Gravity
import android.view.View
import android.view.ViewGroup.LayoutParams.MATCH_PARENT
import android.widget.LinearLayout
import android.widget.RadioButton
import leafturn.phone.Hand

/** One number of a few, each its own target: no keyboard, no small arrows, and what was not said is not a zero. */
class Numbers(val spoken: String, val tag: String, val most: Int, val chosen: Int?, val choose: (Int) -> Unit)

/** Rows of numbers from 0 upwards; those of a row that is not full stand on the side of the thumb. */
fun Page.numbers(look: Look, shown: Numbers) = (0..shown.most).chunked(IN_A_ROW).forEach { numbers ->
    val cells = numbers.map { number(look, shown, it) }
    val gaps = List(IN_A_ROW - cells.size) { View(look.context) }
    val row = LinearLayout(look.context)
    (if (look.hand == Hand.LEFT) cells + gaps else gaps + cells).forEachIndexed { at, cell ->
        val params = LinearLayout.LayoutParams(0, MATCH_PARENT, 1f)
        if (at > 0) params.marginStart = look.dp(Look.GAP)
        row.addView(cell, params)
    }
    block(row, Look.TARGET)
}

private fun number(look: Look, shown: Numbers, number: Int) = RadioButton(look.context).apply {
    val chosen = number == shown.chosen
    text = number.toString()
    tag = "${shown.tag}-$number"
    contentDescription = "${shown.spoken}, $number"
    isChecked = chosen
    buttonDrawable = null
    gravity = Gravity.CENTER
    textSize = Look.BUTTON.toFloat()
    setTextColor(if (chosen) look.colours.paper else look.colours.ink)
    background = look.box(strong = chosen)
    stateListAnimator = null
    setPadding(0, 0, 0, 0)
    setOnClickListener { shown.choose(number) }
}

private const val IN_A_ROW = 4
