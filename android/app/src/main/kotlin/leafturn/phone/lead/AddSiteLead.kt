package leafturn.phone.lead

import android.net.Uri
import leafturn.core.PlaceFound
import leafturn.core.Precision
import leafturn.core.PrecisionChoice
import leafturn.core.SiteTyped
import leafturn.phone.MainActivity
import leafturn.phone.Place
import leafturn.phone.device.Documents
import leafturn.phone.look.Drafts
import leafturn.phone.screens.AddSiteActs
import leafturn.phone.screens.addSiteScreen

/** A site is added: its place by the phone's receiver, typed, or from a file. */
class AddSiteLead(private val home: MainActivity) {
    val pin = PinLead(home)
    private var places = listOf<PlaceFound>()

    fun page() = home.ask({ it.precisions() }) { all -> home.show(addSiteScreen(home.look, Acts(all))) }

    /** A file was picked: what it holds is offered, and a single place is taken at once. */
    fun opened(address: Uri?) {
        val content = address?.let { Documents.read(home, it) } ?: return
        home.ask({ it.placesOfFile(content) }) { found ->
            places = found.places
            found.places.singleOrNull()?.let(::take)
            home.go(Place.AddSite)
            found.refused?.let(home::say)
        }
    }

    private fun take(found: PlaceFound) {
        listOf("latitude", "longitude", "fixes", "corners", "walking").forEach { home.type(it, "") }
        home.type("found", found.place)
        if (home.typed("site-name").isBlank()) home.type("site-name", found.name)
    }

    private fun forget() {
        pin.stop()
        places = listOf()
        listOf("site-name", "site-stems", "latitude", "longitude", "fixes", "corners", "walking", "found", "precision")
            .forEach { home.type(it, "") }
    }

    private inner class Acts(private val all: List<PrecisionChoice>) : AddSiteActs, Drafts by home {
        override fun precisions() = all.map { it.copy(chosen = it.precision == precision()) }

        override fun choose(precision: PrecisionChoice) {
            home.type("precision", precision.precision.name)
            home.go(Place.AddSite)
        }

        override fun found() = places

        override fun take(found: PlaceFound) {
            this@AddSiteLead.take(found)
            home.go(Place.AddSite)
        }

        override fun here() = pin.stand()

        override fun corner() = pin.corner()

        override fun file() {
            if (!Documents.open(home)) home.say(home.look.word("phone.no-share"))
        }

        override fun save() {
            val typed = SiteTyped(
                name = home.typed("site-name"), place = pin.given(), precision = precision(),
                land = null, otherDanaus = null, stems = home.typed("site-stems"),
            )
            home.ask({ it.describeSite(null, typed) }) {
                forget()
                home.go(Place.Sites)
            }
        }

        private fun precision(): Precision? =
            Precision.entries.firstOrNull { it.name == home.typed("precision") } ?: all.firstOrNull { it.chosen }?.precision
    }
}
