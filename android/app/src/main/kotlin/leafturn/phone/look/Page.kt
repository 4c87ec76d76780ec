package leafturn.phone.look

import android.text.InputType
import android.view.Gravity
import android.view.View
import android.view.ViewGroup.LayoutParams.MATCH_PARENT
import android.view.ViewGroup.LayoutParams.WRAP_CONTENT
import android.view.accessibility.AccessibilityNodeInfo
import android.widget.Button
import android.widget.EditText
import android.widget.LinearLayout
import android.widget.RadioButton
import android.widget.ScrollView
import android.widget.Switch
import android.widget.TextView

/** What was typed and not yet saved, by the name of its field: the one thing that a screen keeps. */
interface Drafts {
    fun typed(field: String): String

    fun type(field: String, text: String)
}

/** A button of a page: what it says, what is spoken, what it does. */
class Press(val text: String, val spoken: String = text, val tag: String, val does: () -> Unit)

/**
 * A screen to be read: its title above, its content in between, and what is pressed below, under the thumb.
 */
class Page(private val look: Look, title: String) {
    private val content = column(look)
    private val foot = column(look)

    val view: View = column(look).apply {
        setBackgroundColor(look.colours.paper)
        addView(heading(look, title, Look.TITLE).apply { setPadding(look.dp(Look.MARGIN), look.dp(Look.MARGIN), look.dp(Look.MARGIN), look.dp(Look.GAP)) })
        val scroll = ScrollView(look.context).apply {
            isFillViewport = true
            isVerticalFadingEdgeEnabled = true
            addView(content.apply { setPadding(look.dp(Look.MARGIN), 0, look.dp(Look.MARGIN), look.dp(Look.MARGIN)) })
        }
        addView(scroll, LinearLayout.LayoutParams(MATCH_PARENT, 0, 1f))
        addView(foot.apply { setPadding(look.dp(Look.MARGIN), look.dp(Look.GAP), look.dp(Look.MARGIN), look.dp(Look.MARGIN)) })
    }

    fun heading(text: String) = add(heading(look, text, Look.BUTTON), Look.MARGIN)

    fun line(text: String) = add(text(look, text, Look.BODY, look.colours.ink), Look.GAP)

    fun quiet(text: String) = add(text(look, text, Look.SMALL, look.colours.quiet), Look.GAP)

    /** A button in the content, such as a row of a list. */
    fun row(press: Press, below: String? = null) = add(rowButton(look, press, below), Look.GAP)

    /** A button with a drawing before its words. */
    fun picture(press: Press, picture: Picture) {
        val button = Button(look.context).apply {
            styled(look, press)
            gravity = Gravity.START or Gravity.CENTER_VERTICAL
            // Beside large letters there is no room for words.
            val above = look.sp(Look.BUTTON) > look.dp(Look.BUTTON) * LARGE
            setCompoundDrawablesRelativeWithIntrinsicBounds(picture.takeIf { !above }, picture.takeIf { above }, null, null)
            compoundDrawablePadding = look.dp(12)
        }
        add(button, Look.GAP)
    }

    /** A drawing by itself, which says what it shows. */
    fun drawing(picture: Picture) {
        val view = android.widget.ImageView(look.context).apply {
            setImageDrawable(picture)
            adjustViewBounds = true
        }
        picture.speaks = { view.contentDescription = it }
        add(view, Look.GAP)
    }

    /** A share in words, and the bar of it below. */
    fun bar(text: String, share: Float) {
        line(text)
        add(Bar(look, share), 2)
    }

    /** Something of its own kind, so high in dp. */
    fun block(view: View, high: Int) =
        content.addView(view, LinearLayout.LayoutParams(MATCH_PARENT, look.dp(high)).apply { topMargin = look.dp(Look.GAP) })

    /** One of several that exclude each other, or that do not. */
    fun choice(press: Press, chosen: Boolean, alone: Boolean = true) {
        val button = if (alone) RadioButton(look.context) else android.widget.CheckBox(look.context)
        add(
            button.apply {
                styled(look, press)
                isChecked = chosen
                gravity = Gravity.START or Gravity.CENTER_VERTICAL
                buttonDrawable = null
                setCompoundDrawablesRelativeWithIntrinsicBounds(Mark(look, alone), null, null, null)
                compoundDrawablePadding = look.dp(12)
            },
            Look.GAP,
        )
    }

    fun switch(press: Press, on: Boolean) {
        add(
            Switch(look.context).apply {
                styled(look, press)
                isChecked = on
                gravity = Gravity.START or Gravity.CENTER_VERTICAL
            },
            Look.GAP,
        )
    }

    fun field(label: String, name: String, drafts: Drafts, kind: Int = InputType.TYPE_CLASS_TEXT) {
        val above = text(look, label, Look.SMALL, look.colours.quiet)
        val field = EditText(look.context).apply {
            id = View.generateViewId()
            tag = name
            inputType = kind
            // A long name goes on below instead of out of sight; "enter" still ends it.
            setHorizontallyScrolling(false)
            maxLines = LINES
            setText(drafts.typed(name))
            textSize = Look.BUTTON.toFloat()
            setTextColor(look.colours.ink)
            background = look.box()
            minimumHeight = look.dp(Look.TARGET)
            setPadding(look.dp(12), look.dp(12), look.dp(12), look.dp(12))
            isSaveEnabled = false
            addTextChangedListener(Typing { drafts.type(name, it) })
        }
        above.labelFor = field.id
        field.contentDescription = null
        add(above, Look.MARGIN)
        add(field, Look.GAP / 2)
    }

    /** A button below; the last one that is added is the nearest to the thumb. */
    fun press(press: Press, strong: Boolean = false) {
        foot.addView(button(look, press, strong), spaced(if (foot.childCount == 0) 0 else Look.GAP))
    }

    private companion object {
        const val LARGE = 1.3f

        /** Of what is typed, so many are seen. */
        const val LINES = 6
    }

    private fun add(view: View, above: Int) = content.addView(view, spaced(above))

    private fun spaced(above: Int) =
        LinearLayout.LayoutParams(MATCH_PARENT, WRAP_CONTENT).apply { topMargin = look.dp(above) }
}

fun column(look: Look) = LinearLayout(look.context).apply { orientation = LinearLayout.VERTICAL }

fun text(look: Look, text: String, height: Int, colour: Int) = TextView(look.context).apply {
    this.text = text
    textSize = height.toFloat()
    setTextColor(colour)
    // At the side where the screen begins, whatever way the words themselves are written.
    textAlignment = View.TEXT_ALIGNMENT_VIEW_START
}

fun heading(look: Look, text: String, height: Int) = text(look, text, height, look.colours.ink).apply {
    typeface = android.graphics.Typeface.DEFAULT_BOLD
    accessibilityDelegate = object : View.AccessibilityDelegate() {
        override fun onInitializeAccessibilityNodeInfo(host: View, info: AccessibilityNodeInfo) {
            super.onInitializeAccessibilityNodeInfo(host, info)
            if (android.os.Build.VERSION.SDK_INT >= 28) info.isHeading = true
        }
    }
}

fun button(look: Look, press: Press, strong: Boolean = false) = Button(look.context).apply {
    styled(look, press)
    gravity = Gravity.CENTER
    background = look.box(strong)
    setTextColor(if (strong) look.colours.paper else look.colours.ink)
}

private fun rowButton(look: Look, press: Press, below: String?): View = Button(look.context).apply {
    styled(look, press)
    gravity = Gravity.START or Gravity.CENTER_VERTICAL
    if (below != null) {
        text = android.text.SpannableStringBuilder(press.text).append("\n").append(
            below,
            android.text.style.AbsoluteSizeSpan(look.sp(Look.SMALL).toInt()),
            android.text.Spanned.SPAN_EXCLUSIVE_EXCLUSIVE,
        )
        contentDescription = "${press.spoken}. $below"
    }
}

private fun TextView.styled(look: Look, press: Press) {
    text = press.text
    contentDescription = if (press.spoken == press.text) null else press.spoken
    tag = press.tag
    isAllCaps = false
    textSize = Look.BUTTON.toFloat()
    setTextColor(look.colours.ink)
    background = look.box()
    stateListAnimator = null
    minimumHeight = look.dp(Look.TARGET)
    minHeight = look.dp(Look.TARGET)
    minimumWidth = look.dp(Look.TARGET)
    setPadding(look.dp(12), look.dp(8), look.dp(12), look.dp(8))
    textDirection = View.TEXT_DIRECTION_LOCALE
    setOnClickListener { press.does() }
}

private class Typing(val then: (String) -> Unit) : android.text.TextWatcher {
    override fun beforeTextChanged(text: CharSequence, start: Int, count: Int, after: Int) = Unit

    override fun onTextChanged(text: CharSequence, start: Int, before: Int, count: Int) = Unit

    override fun afterTextChanged(text: android.text.Editable) = then(text.toString())
}

