package leafturn.phone.look

import android.view.Gravity
import android.view.View
import android.view.ViewGroup.LayoutParams.MATCH_PARENT
import android.view.ViewGroup.LayoutParams.WRAP_CONTENT
import android.widget.FrameLayout

/** What has to be said beside a screen: why an act was refused, that something was saved. It lies over the title, where
 * nothing is tapped while counting, and goes with a tap or the next act. */
class Notice(private val look: Look) {
    private var then: () -> Unit = {}
    private val said = text(look, "", Look.BODY, look.colours.paper)

    val view: View = said.apply {
        setBackgroundColor(look.colours.ink)
        setPadding(look.dp(Look.MARGIN), look.dp(Look.MARGIN), look.dp(Look.MARGIN), look.dp(Look.MARGIN))
        minHeight = look.dp(Look.TARGET)
        gravity = Gravity.CENTER_VERTICAL
        visibility = View.GONE
        tag = "notice"
        accessibilityLiveRegion = View.ACCESSIBILITY_LIVE_REGION_ASSERTIVE
        setOnClickListener {
            hide()
            then()
        }
    }

    fun place() = FrameLayout.LayoutParams(MATCH_PARENT, WRAP_CONTENT, Gravity.TOP)

    fun say(text: String) = offer(text) {}

    /** Says something, and does this when it is tapped. */
    fun offer(text: String, does: () -> Unit) {
        then = does
        said.text = text
        view.visibility = View.VISIBLE
    }

    fun hide() {
        view.visibility = View.GONE
    }
}
