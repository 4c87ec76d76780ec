package leafturn.phone

import leafturn.core.KeyBeginning
import leafturn.core.Leafturn
import leafturn.core.SettingsChosen
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
    fun narrowLeftHandedInSpanish() = all("320-left-es", 1f) { it.copy(hand = "left", language = "es") }

    @Test
    @Config(qualifiers = "w320dp-h640dp-xhdpi")
    fun narrowWithLargeLettersInFrenchAndDark() = all("320-large-dark-fr", 2f) { it.copy(theme = "dark", language = "fr") }

    /** The widest that a translation may become, with accents on capitals: no such language is shipped. */
    @Test
    @Config(qualifiers = "w320dp-h640dp-xhdpi")
    fun narrowWithLongerWords() = all("320-longer", 1f, longer = true)

    @Test
    @Config(qualifiers = "w320dp-h640dp-xhdpi")
    fun narrowWithLongerWordsAndLargeLetters() = all("320-large-longer", 2f, longer = true)

    /** Written from the right, with English words: no such language is shipped. */
    @Test
    @Config(qualifiers = "ar-rXB-ldrtl-w320dp-h640dp-xhdpi")
    fun narrowFromTheRight() = all("320-right", 1f) { it.copy(language = "en") }

    private fun all(size: String, fontScale: Float, longer: Boolean = false, set: (SettingsChosen) -> SettingsChosen = { it }) {
        RuntimeEnvironment.setFontScale(fontScale)
        val walk = Walk().begin()
        core(walk) { it.changeSettings(set(Scene.settings(it))) }
        walk.home.restyle()
        val faults = mutableListOf<String>()
        fun judge(name: String, on: Walk = walk) {
            if (longer) on.lengthen()
            val picture = on.picture("$size/$name")
            faults += listOfNotNull(Kept.fault("$size/$name", picture, on.home.resources.displayMetrics.density))
            faults += Inspector(on, fontScale).faults().map { "$size $name: $it" }
        }
        fun look(name: String, place: Place, on: Walk = walk) {
            on.home.go(place)
            on.settle()
            judge(name, on)
        }

        look("01-sites-none", Place.Sites)
        look("02-add-site", Place.AddSite)
        val site = core(walk) { Scene.site(it) }
        core(walk) { Scene.site(it, "Roadside") }
        look("03-sites", Place.Sites)
        look("04-start", Place.Start(site))
        core(walk) { Scene.visit(it, site) }
        core(walk) { it.addNote(site, "An invented note: ask at the farm.") }
        look("35-site", Place.Site(site))
        look("36-site-notes", Place.SiteNotes(site))
        look("05-first-plant", Place.Counting)
        core(walk) { it.openPlant("Asclepias syriaca") }
        look("06-counting-empty", Place.Counting)
        core(walk) { Scene.untilPhoto(it) }
        look("18-counting-photo-asked", Place.Counting)
        look("19-photo", Place.Photo)
        core(walk) { Scene.counting(it) }
        // Whether a photo is asked for is a matter of chance: here it is said that none is possible.
        core(walk) { it.counting() }.photoAsked?.let { walk.home.type("photo-not", it.count) }
        look("07-counting", Place.Counting)
        look("08-undecided", Place.Undecided)
        look("09-states", Place.States)
        look("10-more", Place.More)
        look("11-hosts", Place.Hosts)
        look("35-advice", Place.Advice)
        look("20-details", Place.Details())
        look("21-weather", Place.Weather)
        look("22-visit", Place.Visit())
        core(walk) { it.addNote(null, "An invented note: the ditch was dry.") }
        look("23-notes", Place.Notes)
        look("24-outside", Place.Outside(site))
        look("34-season", Place.Season(site))
        look("25-key-start", Place.KeyStart)
        core(walk) { it.beginKey(KeyBeginning(Scene.means(it), null)) }
        look("26-key", Place.Key)
        core(walk) { Scene.answerKey(it) }
        look("27-key-answered", Place.Key)
        core(walk) { it.measure() }.questions.forEach { own ->
            look("28-measure-${if (own.needsScale) "scale" else "ratio"}", Place.Measure(own.question.character))
        }
        look("12-review", Place.Review)
        core(walk) {
            it.nextPlant()
            it.endVisit()
        }
        look("13-review-ended", Place.Review)
        look("14-sending", Place.Sending)
        look("15-join", Place.Join)
        walk.home.type("scanned", "leafturn:join?v=1&address=https://192.0.2.7:8787&code=BCD-FGH-JK")
        look("38-join-scanned", Place.Join)
        look("16-settings", Place.SettingsPage)
        look("17-cautions", Place.Cautions)
        look("29-practice", Place.Practice)
        walk.tap(walk.tagged("practice-").first().tag as String)
        judge("30-practice-answered")
        look("31-mine", Place.Mine)
        walk.tap("delete")
        judge("32-mine-delete")
        look("33-licences", Place.Licences)
        walk.leave()
        val again = Twice.visit(walk)
        core(again) { it.changeSettings(set(Scene.settings(it))) }
        again.home.restyle()
        look("36-matching", Place.Matching, again)
        look("37-review-twice", Place.Review, again)
        look("38-details-looked-over", Place.Details(core(again) { it.review() }.rows.first().check), again)
        again.leave()
        assertEquals("", faults.joinToString("\n"))
    }

    private fun <T> core(walk: Walk, work: (Leafturn) -> T): T = when (val done = walk.app.core.wait(work)) {
        is Outcome.Done -> done.value
        is Outcome.Failed -> throw AssertionError(done.failure.words)
    }
}
