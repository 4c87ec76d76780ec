package leafturn.phone

import android.app.Activity
import android.content.ActivityNotFoundException
import android.content.Intent
import android.os.Bundle
import android.view.KeyEvent
import android.view.View
import android.view.ViewGroup.LayoutParams.MATCH_PARENT
import android.view.WindowManager
import android.widget.FrameLayout
import leafturn.core.Drawing
import leafturn.core.Failure
import leafturn.core.Leafturn
import leafturn.phone.device.Announcer
import leafturn.phone.device.Camera
import leafturn.phone.device.Documents
import leafturn.phone.device.Feel
import leafturn.phone.device.Handed
import leafturn.phone.device.Haptics
import leafturn.phone.device.Speaker
import leafturn.phone.device.SystemHaptics
import leafturn.phone.device.SystemSpeaker
import leafturn.phone.device.Whereabouts
import leafturn.phone.lead.SendingLead
import leafturn.phone.look.Drafts
import leafturn.phone.look.Look
import leafturn.phone.look.Notice
import leafturn.phone.look.Picture
import leafturn.phone.look.Pictures
import leafturn.phone.look.Specimen

/**
 * The one window. It knows where the person is, asks the core for that screen's record, and has one function draw it.
 * Everything else, and every number, is the core's.
 */
class MainActivity : Activity(), Drafts {
    internal val app get() = application as LeafturnApp
    internal lateinit var look: Look
        private set
    internal val announcer = Announcer()
    internal lateinit var haptics: Haptics
    internal var speaker: Speaker = Speaker { }
    internal lateinit var frame: FrameLayout
        private set
    private lateinit var notice: Notice
    private lateinit var screens: Screens
    private val specimens = mutableMapOf<String, Specimen?>()
    private var drafts = Bundle()
    private var words = mapOf<String, String>()

    /** Where the person is. */
    var place: Place = Place.Sites
        private set

    override fun onCreate(state: Bundle?) {
        super.onCreate(state)
        place = Place.restored(state)
        drafts = state?.getBundle("drafts") ?: Bundle()
        haptics = SystemHaptics(this, app.settings)
        frame = FrameLayout(this)
        frame.fitsSystemWindows = true
        setContentView(frame)
        screens = Screens(this)
        ask({ it.setOffset(offsetMinutes()); worded(it) to it.opened().said }) { (words, said) ->
            this.words = words
            dress()
            go(place)
            said.forEach(::say)
            if (state == null) handed(intent)
        }
        leafturn.phone.send.Schedule.leftovers(this)
    }

    override fun onNewIntent(intent: Intent) {
        super.onNewIntent(intent)
        handed(intent)
    }

    override fun onStart() {
        super.onStart()
        screens.sending.seen()
    }

    override fun onStop() {
        screens.unseen()
        super.onStop()
    }

    override fun onDestroy() {
        (haptics as? SystemHaptics)?.release()
        (speaker as? SystemSpeaker)?.release()
        super.onDestroy()
    }

    override fun onRequestPermissionsResult(request: Int, permissions: Array<String>, results: IntArray) = when (request) {
        Whereabouts.REQUEST -> screens.placeAnswered()
        SendingLead.REQUEST -> screens.sending.answered()
        else -> super.onRequestPermissionsResult(request, permissions, results)
    }

    @Deprecated("The way of every level that is supported")
    override fun onActivityResult(request: Int, result: Int, data: Intent?) {
        when (request) {
            Camera.REQUEST -> screens.photoTaken(result == RESULT_OK)
            Documents.REQUEST -> screens.add.opened(data?.data?.takeIf { result == RESULT_OK })
        }
    }

    override fun onSaveInstanceState(state: Bundle) {
        super.onSaveInstanceState(state)
        place.save(state)
        state.putBundle("drafts", drafts)
    }

    @Deprecated("The way back of every level that is supported")
    override fun onBackPressed() {
        place.back()?.let(::go) ?: super.onBackPressed()
    }

    override fun dispatchKeyEvent(event: KeyEvent): Boolean =
        screens.key(event) || super.dispatchKeyEvent(event)

    override fun typed(field: String): String = drafts.getString(field).orEmpty()

    override fun type(field: String, text: String) = drafts.putString(field, text)

    /** Is at a place that the caller draws itself. */
    fun arrive(at: Place) {
        place = at
    }

    /** Goes to a place and draws it from the core's record. */
    fun go(to: Place) {
        place = to
        screens.draw(to)
    }

    /** Settings changed: everything is drawn again, in another language perhaps. */
    fun restyle() = ask(::worded) {
        words = it
        specimens.clear()
        dress()
        go(place)
    }

    /** Everything on this phone was deleted: what was being typed goes as well. */
    fun forget() {
        drafts = Bundle()
    }

    /** Writes the journal into a file, and lets the person choose who gets it. */
    fun handOver() = ask({ it.exportTo(Handed.file(this, Handed.JOURNAL).path) }) { said ->
        say(said)
        try {
            startActivity(Handed.share(this, Handed.JOURNAL))
        } catch (_: ActivityNotFoundException) {
            say(look.word("phone.no-share"))
        }
    }

    /** The words of the language that is set; the settings are taken over on the way. */
    private fun worded(core: Leafturn): Map<String, String> {
        app.settings.take(core.settings())
        return core.setLanguage(app.settings.language)
    }

    /** Asks the core; a refusal is shown and felt, never swallowed. */
    fun <T> ask(work: (Leafturn) -> T, then: (T) -> Unit) = app.core.call(work) { outcome ->
        if (isDestroyed) return@call
        when (outcome) {
            is Outcome.Done -> then(outcome.value)
            is Outcome.Failed -> refused(outcome.failure)
        }
    }

    /** Shows a screen in place of the one before. */
    fun show(view: View) {
        frame.removeAllViews()
        frame.addView(view, FrameLayout.LayoutParams(MATCH_PARENT, MATCH_PARENT))
        frame.addView(notice.view, notice.place())
        keepAwake(place == Place.Counting)
    }

    fun say(text: String) = notice.say(text)

    fun quieten() = notice.hide()

    /** The drawing for a tile, asked for once. */
    fun specimen(name: String): Specimen? {
        if (name.isNotEmpty() && name !in specimens) {
            specimens[name] = null
            ask({ it.drawing(name, DRAWN_WIDTH, DRAWN_HEIGHT) }) {
                specimens[name] = Specimen(it)
                screens.counting.repaint()
            }
        }
        return specimens[name]
    }

    /** Drawings by their names, each painted when it has come. */
    val pictures = Pictures { name, wide, high -> picture(wide, high) { it.drawing(name, wide.toUInt(), high.toUInt()) } }

    /** A picture of this size in dp, painted when its drawing has come. */
    fun picture(wide: Int, high: Int, drawn: (Leafturn) -> Drawing) = Picture(look, wide, high).also { picture ->
        ask(drawn) { picture.specimen = Specimen(it) }
    }

    /** An invitation that another app read from a picture. Whether it is one, the core says when the person joins. */
    private fun handed(intent: Intent?) {
        if (intent?.action == Intent.ACTION_VIEW) intent.dataString?.let(screens.sending::scanned)
    }

    private fun refused(failure: Failure) {
        if (!::look.isInitialized) dress()
        haptics.feel(Feel.REFUSED)
        if (frame.childCount == 0) show(View(this))
        if (failure is Failure.OpenBeside && app.beside == leafturn.core.Beside.OWN) {
            notice.offer(failure.words) {
                app.beside = leafturn.core.Beside.NEWER
                recreate()
            }
        } else {
            notice.say(failure.words)
        }
        if (failure is Failure.StartedAgain) screens.draw(place)
    }

    private fun dress() {
        look = Look(this, app.settings.theme, app.settings.hand, words)
        notice = Notice(look)
        app.settings.sendingWord = look.word("phone.notification")
        if (app.settings.lens && speaker !is SystemSpeaker) speaker = SystemSpeaker(this) { app.settings.language }
        window.decorView.setBackgroundColor(look.colours.paper)
        window.statusBarColor = look.colours.paper
        window.navigationBarColor = look.colours.paper
    }

    private fun keepAwake(awake: Boolean) {
        val flag = WindowManager.LayoutParams.FLAG_KEEP_SCREEN_ON
        if (awake) window.addFlags(flag) else window.clearFlags(flag)
    }

    private companion object {
        const val DRAWN_WIDTH = 160u
        const val DRAWN_HEIGHT = 96u
    }
}
