package leafturn.phone.look

import android.text.InputType
import leafturn.core.Choice
import leafturn.core.TypedField

/**
 * What was chosen and typed on a page and is not yet saved. It begins with what the record says, and is forgotten when it
 * is saved. A choice that is pressed again is unsaid.
 */
class Form(private val drafts: Drafts, private val name: String, private val again: () -> Unit) {
    /** Fills the form from its record, unless it is this one that is being filled in already. */
    fun begin(about: String, from: Form.() -> Unit) {
        if (drafts.typed("form") == "$name $about") return
        drafts.type("form", "$name $about")
        from()
    }

    fun end() = drafts.type("form", "")

    fun text(field: String) = drafts.typed("$name-$field")

    fun write(field: String, text: String) = drafts.type("$name-$field", text)

    fun fill(field: String, choices: List<Choice>) = write(field, choices.filter { it.chosen }.joinToString("\n") { it.name })

    fun all(field: String): List<String> = text(field).split('\n').filter { it.isNotEmpty() }

    fun one(field: String): String? = all(field).firstOrNull()

    /** A group of choices below its heading; each with a mark, of which one or several may be set, and one has to be where it must. */
    fun choices(page: Page, heading: String, field: String, choices: List<Choice>, several: Boolean = false, must: Boolean = false) {
        if (choices.isEmpty()) return
        page.heading(heading)
        choices.forEach { own ->
            val chosen = if (own.name.isEmpty()) text(field).isEmpty() else own.name in all(field)
            val press = Press(own.label, tag = "$name-$field-${own.name}") {
                val others = if (several) all(field) - own.name else listOf()
                write(field, (others + listOf(own.name).filter { must || !chosen }).joinToString("\n"))
                again()
            }
            page.choice(press, chosen, alone = !several)
        }
    }

    fun number(page: Page, field: String, shown: TypedField) =
        page.field(shown.label, "$name-$field", drafts, InputType.TYPE_CLASS_NUMBER or InputType.TYPE_NUMBER_FLAG_DECIMAL or InputType.TYPE_NUMBER_FLAG_SIGNED)

    fun line(page: Page, field: String, shown: TypedField) = page.field(shown.label, "$name-$field", drafts)

    fun words(page: Page, field: String, label: String) =
        page.field(label, "$name-$field", drafts, InputType.TYPE_CLASS_TEXT or InputType.TYPE_TEXT_FLAG_CAP_SENTENCES or InputType.TYPE_TEXT_FLAG_MULTI_LINE)
}
