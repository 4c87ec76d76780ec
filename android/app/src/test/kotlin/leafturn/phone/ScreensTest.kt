package leafturn.phone

import leafturn.core.Leafturn
import org.junit.Assert.assertEquals
import org.junit.Test
import org.junit.runner.RunWith
import org.robolectric.RobolectricTestRunner
import org.robolectric.RuntimeEnvironment
import org.robolectric.annotation.Config

/** Every screen, drawn at two widths and two heights of letters, and walked over. */
@RunWith(RobolectricTestRunner::class)
class ScreensTest {
    @Test
    @Config(qualifiers = "w320dp-h640dp-xhdpi")
    fun narrow() = all("320", 1f)

    @Test
    @Config(qualifiers = "w320dp-h640dp-xhdpi")
    fun narrowWithLargeLetters() = all("320-large", 2f)

    @Test
    fun usual() = all("411", 1f)

    @Test
    fun usualWithLargeLetters() = all("411-large", 2f)

    @Test
    @Config(qualifiers = "w320dp-h640dp-xhdpi")
    fun narrowLeftHandedInSpanish() = all("320-left-es", 1f) {
        it.settings.hand = Hand.LEFT
        it.settings.language = "es"
    }

    @Test
    @Config(qualifiers = "w320dp-h640dp-xhdpi")
    fun narrowWithLargeLettersInFrenchAndDark() = all("320-large-dark-fr", 2f) {
        it.settings.theme = Theme.DARK
        it.settings.language = "fr"
    }

    private fun all(size: String, fontScale: Float, set: (LeafturnApp) -> Unit = {}) {
        RuntimeEnvironment.setFontScale(fontScale)
        val app = RuntimeEnvironment.getApplication() as LeafturnApp
        set(app)
        val walk = Walk().begin()
        val faults = mutableListOf<String>()
        fun look(name: String, place: Place) {
            walk.home.go(place)
            walk.settle()
            walk.picture("$size/$name")
            faults += Inspector(walk, fontScale).faults().map { "$size $name: $it" }
        }

        look("01-sites-none", Place.Sites)
        look("02-add-site", Place.AddSite)
        val site = core(walk) { Scene.site(it) }
        core(walk) { Scene.site(it, "Roadside") }
        look("03-sites", Place.Sites)
        look("04-start", Place.Start(site))
        core(walk) { Scene.visit(it, site) }
        look("05-first-plant", Place.Counting)
        core(walk) { it.openPlant("Asclepias syriaca") }
        look("06-counting-empty", Place.Counting)
        core(walk) { Scene.counting(it) }
        look("07-counting", Place.Counting)
        look("08-undecided", Place.Undecided)
        look("09-states", Place.States)
        look("10-more", Place.More)
        look("11-hosts", Place.Hosts)
        look("12-review", Place.Review)
        core(walk) {
            it.nextPlant()
            it.endVisit()
        }
        look("13-review-ended", Place.Review)
        look("14-sending", Place.Sending)
        look("15-join", Place.Join)
        look("16-settings", Place.SettingsPage)
        look("17-cautions", Place.Cautions)
        walk.leave()
        assertEquals("", faults.joinToString("\n"))
    }

    private fun <T> core(walk: Walk, work: (Leafturn) -> T): T = when (val done = walk.app.core.wait(work)) {
        is Outcome.Done -> done.value
        is Outcome.Failed -> throw AssertionError(done.failure.words)
    }
}
