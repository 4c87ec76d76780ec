package leafturn.phone.lead

import leafturn.core.CompanySeen
import leafturn.core.DetailsScreen
import leafturn.core.FindTyped
import leafturn.core.NotesScreen
import leafturn.core.OutsideScreen
import leafturn.core.PhotoShows
import leafturn.core.PlantTyped
import leafturn.core.VisitScreen
import leafturn.core.VisitTyped
import leafturn.core.WeatherScreen
import leafturn.core.WeatherTyped
import leafturn.phone.MainActivity
import leafturn.phone.Place
import leafturn.phone.device.Camera
import leafturn.phone.device.Feel
import leafturn.phone.look.Form
import leafturn.phone.screens.detailsScreen
import leafturn.phone.screens.notesScreen
import leafturn.phone.screens.outsideScreen
import leafturn.phone.screens.visitScreen
import leafturn.phone.screens.weatherScreen

/** What may be said beside the counts: of the plant, the weather, the visit; notes; animals off the plants. */
class BesideLead(private val home: MainActivity) {
    /** Details of the open plant; of one that is named, with what was found on it and looks odd. */
    fun details(at: Place.Details) = home.ask({ core ->
        val row = if (at.check.isEmpty()) null else core.review().let { all -> all.rows.firstOrNull { it.check == at.check }?.let { it to all.findings } }
        core.details(at.check.ifEmpty { null }) to row?.let { (own, all) -> listOf(own.found) + own.findings.map { all[it.toInt()] } }.orEmpty()
    }) { (now, found) -> show(now, found, at.back() ?: Place.Counting) }

    fun weather() = home.ask({ it.weather() }, ::show)

    fun visit(at: Place.Visit) = home.ask({ it.visit() }) { show(it, at.back() ?: Place.Counting) }

    /** Notes on a site, or without one on the visit in hand. */
    fun notes(site: String?) = home.ask({ it.notes(site) }) { show(it, site) }

    fun outside(site: String) = home.ask({ it.outside(site) }, ::show)

    /** The camera came back with a photo of something that was named before. */
    fun photoTaken(jpeg: ByteArray?) {
        val (kind, first, second) = home.typed("photo-shows").split(' ') + listOf("", "", "")
        val shows = if (kind == "plant") PhotoShows.Plant(first) else PhotoShows.Find(first, second)
        if (jpeg == null) return home.go(home.place)
        home.ask({ it.takePhotoOf(shows, jpeg) }) { said ->
            home.go(home.place)
            home.say(said)
        }
    }

    private fun photo(shows: String) {
        home.type("photo-for", "shown")
        home.type("photo-shows", shows)
        if (!Camera.open(home)) home.say(home.look.word("phone.no-camera"))
    }

    private fun saved(form: Form, to: Place) {
        form.end()
        home.haptics.feel(Feel.COUNTED)
        home.go(to)
    }

    private fun show(now: DetailsScreen, found: List<String>, back: Place) {
        val form = Form(home, "details") { show(now, found, back) }
        form.begin(now.check) {
            write("height", now.height.value)
            write("stems", now.stems?.value.orEmpty())
            fill("growth", now.growth)
            fill("condition", now.condition)
            fill("fate", now.fate)
            fill("flowers", now.flowers)
            now.company.forEach { fill("company-${it.who}", it.classes) }
        }
        home.show(
            detailsScreen(home.look, now, found, form, { photo("plant ${now.check}") }) {
                val company = now.company.mapNotNull { own -> form.one("company-${own.who}")?.let { CompanySeen(own.who, it) } }
                val typed = PlantTyped(
                    form.text("height"), form.text("stems"), form.all("growth"), form.one("condition"), form.one("fate"),
                    form.one("flowers"), company,
                )
                home.ask({ it.describePlant(now.check, typed) }) { saved(form, back) }
            },
        )
    }

    private fun show(now: WeatherScreen) {
        val form = Form(home, "weather") { show(now) }
        form.begin(now.said) {
            write("air", now.air.value)
            fill("wind", now.wind)
            fill("cloud", now.cloud)
            fill("rain", now.rain)
        }
        home.show(
            weatherScreen(home.look, now, form) {
                val typed = WeatherTyped(form.text("air"), form.one("wind"), form.one("cloud"), form.one("rain"))
                home.ask({ it.noteWeather(typed) }) { saved(form, Place.Counting) }
            },
        )
    }

    private fun show(now: VisitScreen, back: Place) {
        val form = Form(home, "visit") { show(now, back) }
        form.begin(now.code) {
            write("minutes", now.minutes.value)
            fill("hosts-up", now.hostsUp)
            write("beside", "")
        }
        home.show(
            visitScreen(home.look, now, form, { home.ask({ it.linkVisit(form.text("beside")) }) { show(it, back) } }) {
                home.ask({ it.describeVisit(VisitTyped(form.one("hosts-up"), form.text("minutes"))) }) { saved(form, back) }
            },
        )
    }

    private fun show(now: NotesScreen, site: String?) {
        val form = Form(home, "notes") { show(now, site) }
        form.begin(now.title) { write("text", now.beginsWith) }
        home.show(
            notesScreen(home.look, now, form, { note -> home.ask({ it.eraseNote(site, note) }) { show(it, site) } }) {
                home.ask({ it.addNote(site, form.text("text")) }) {
                    form.end()
                    show(it, site)
                }
            },
        )
    }

    private fun show(now: OutsideScreen) {
        val form = Form(home, "outside") { show(now) }
        form.begin(now.site) {
            fill("what", now.whats)
            fill("on", now.on)
        }
        home.show(
            outsideScreen(home.look, now, form, { find -> photo("find ${now.site} $find") }) {
                val typed = FindTyped(form.one("what").orEmpty(), null, 1u, form.one("on").orEmpty(), null, null)
                home.ask({ it.foundOutside(now.site, typed) }) {
                    form.end()
                    home.haptics.feel(Feel.COUNTED)
                    show(it)
                }
            },
        )
    }
}
