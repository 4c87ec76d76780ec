package leafturn.phone

import android.graphics.Bitmap
import android.graphics.Canvas
import android.graphics.Rect
import android.os.Looper
import android.os.SystemClock
import android.view.MotionEvent
import android.view.View
import android.view.ViewGroup
import android.widget.EditText
import android.widget.ScrollView
import java.io.File
import org.robolectric.Robolectric
import org.robolectric.Shadows.shadowOf
import org.robolectric.android.controller.ActivityController

/** A person with one thumb: touches what is on the screen, and counts the touches. */
class Walk(private var controller: ActivityController<MainActivity> = Robolectric.buildActivity(MainActivity::class.java)) {
    val home: MainActivity get() = controller.get()
    val app: LeafturnApp get() = home.app
    private val root: View get() = home.window.decorView

    /** Touches so far. */
    var taps = 0

    fun begin(): Walk {
        controller.setup()
        settle()
        return this
    }

    /** Lets the core finish what it was asked, and the screen show it; what that asks for in turn, too. */
    fun settle() {
        repeat(4) {
            shadowOf(Looper.getMainLooper()).idle()
            app.core.wait { }
        }
        shadowOf(Looper.getMainLooper()).idle()
    }

    fun find(tag: String): View = maybe(tag) ?: throw AssertionError("no $tag here:\n${outline()}")

    fun maybe(tag: String): View? = root.findViewWithTag(tag)

    fun tagged(start: String): List<View> = views().filter { (it.tag as? String)?.startsWith(start) == true }

    /** A touch of the screen at the middle of a target, as the system sends it; whatever lies there gets it. */
    fun tap(tag: String) {
        val view = find(tag)
        check(view.isEnabled) { "$tag is not enabled" }
        reveal(view)
        val at = middle(view)
        val hit = root.touchables.filter { it.isShown && it.isEnabled && bounds(it).contains(at.first.toInt(), at.second.toInt()) }
        check(view in hit) { "$tag lies outside the screen or under something: ${bounds(view)} of ${bounds(root)}" }
        taps += 1
        val down = SystemClock.uptimeMillis()
        send(MotionEvent.ACTION_DOWN, down, down, at)
        shadowOf(Looper.getMainLooper()).idleFor(java.time.Duration.ofMillis(TOUCH_MS))
        send(MotionEvent.ACTION_UP, down, SystemClock.uptimeMillis(), at)
        shadowOf(Looper.getMainLooper()).idleFor(java.time.Duration.ofMillis(BETWEEN_MS))
        settle()
    }

    /** To "more", where its place may be taken by a photo that is asked for by chance. */
    fun more(press: (String) -> Unit = ::tap) {
        press("more")
        if (maybe("more-instead") != null) press("more-instead")
    }

    fun type(tag: String, text: String) = (find(tag) as EditText).setText(text)

    /** What the screen says, line by line. */
    fun outline(): String = views().filter { it.isShown }.mapNotNull(::saying).joinToString("\n")

    fun says(text: String): Boolean = text in outline()

    /** Turns the phone: the activity is made again from what it saved. */
    fun recreate() {
        controller.recreate()
        settle()
    }

    /** The app is gone from memory; its journal is let go. */
    fun leave() {
        controller.pause().stop().destroy()
        app.core.close()
    }

    /** Waits for something that a thread beside the core does; the deadline only ends a test that would never end. */
    fun until(what: String, holds: () -> Boolean) {
        val deadline = System.nanoTime() + DEADLINE_NS
        while (!holds()) {
            check(System.nanoTime() < deadline) { "never: $what\n${outline()}" }
            Thread.sleep(5)
            settle()
        }
    }

    fun picture(name: String): File {
        settle()
        val bitmap = Bitmap.createBitmap(root.width, root.height, Bitmap.Config.ARGB_8888)
        root.draw(Canvas(bitmap))
        val file = File(System.getProperty("leafturn.scratch"), "pictures/$name.png")
        file.parentFile?.mkdirs()
        file.outputStream().use { bitmap.compress(Bitmap.CompressFormat.PNG, 100, it) }
        return file
    }

    /** Makes every text on the screen longer by two fifths, with accents, as a translation might. */
    fun lengthen() {
        views().forEach { view ->
            when (view) {
                is EditText -> Unit
                is leafturn.phone.look.TileView -> view.shown?.let { view.show(it.copy(label = longer(it.label)), null) }
                is android.widget.TextView -> view.text = longer(view.text.toString())
            }
        }
        settle()
    }

    private fun longer(text: String): String {
        if (text.isBlank()) return text
        val accented = text.map { ACCENTS[it] ?: it }.joinToString("")
        val more = "$text $text".take(maxOf(1, text.length * 2 / 5)).trim()
        return "$accented $more"
    }

    fun views(): List<View> = below(home.frame)

    fun bounds(view: View): Rect {
        val place = IntArray(2).also(view::getLocationInWindow)
        return Rect(place[0], place[1], place[0] + view.width, place[1] + view.height)
    }

    private fun below(view: View): List<View> =
        listOf(view) + if (view is ViewGroup) (0 until view.childCount).flatMap { below(view.getChildAt(it)) } else listOf()

    private fun saying(view: View): String? = when (view) {
        is leafturn.phone.look.TileView -> view.shown?.let { "[${it.label}: ${it.value}]" }
        is android.widget.TextView -> view.text.toString().takeIf { it.isNotEmpty() }
        else -> null
    }

    private fun reveal(view: View) {
        var parent = view.parent
        while (parent is View) {
            if (parent is ScrollView) {
                val inside = Rect(0, 0, view.width, view.height)
                parent.offsetDescendantRectToMyCoords(view, inside)
                parent.scrollTo(0, (inside.centerY() - parent.height / 2).coerceAtLeast(0))
            }
            parent = parent.parent
        }
    }

    private fun middle(view: View) = bounds(view).let { it.exactCenterX() to it.exactCenterY() }

    private fun send(action: Int, down: Long, at: Long, point: Pair<Float, Float>) {
        val event = MotionEvent.obtain(down, at, action, point.first, point.second, 0)
        root.dispatchTouchEvent(event)
        event.recycle()
    }

    private companion object {
        val ACCENTS = mapOf('a' to 'å', 'e' to 'é', 'i' to 'î', 'o' to 'ö', 'u' to 'û', 'A' to 'Å', 'E' to 'É', 'N' to 'Ñ')
        const val TOUCH_MS = 60L
        const val BETWEEN_MS = 140L
        const val DEADLINE_NS = 60_000_000_000L
    }
}
