package leafturn.phone.lead

import android.location.Location
import leafturn.core.Fix
import leafturn.core.PlaceGiven
import leafturn.phone.MainActivity
import leafturn.phone.Place
import leafturn.phone.device.Whereabouts

/**
 * The place of a site by the phone's receiver: fixes while one stands in its middle, or a corner at a time while one walks
 * around it. What they come to is said by the core.
 */
class PinLead(private val home: MainActivity) {
    private val whereabouts = Whereabouts(home)
    private var latest: Fix? = null

    fun stand() {
        home.type("found", "")
        home.type("corners", "")
        home.type("fixes", "")
        begin("fixes")
    }

    /** The first press finds the place; each one after it puts a corner there. */
    fun corner() {
        val here = latest.takeIf { home.typed("walking") == "corners" } ?: return begin("corners")
        home.type("found", "")
        home.type("fixes", "")
        add("corners", here)
        said()
    }

    /** The question for the permission was answered. */
    fun answered() = if (whereabouts.allowed) begin(home.typed("walking")) else home.say(home.look.word("phone.here-no"))

    fun stop() = whereabouts.stop()

    /** The place as far as it is said: of a file, typed, walked around, stood upon, or not at all. */
    fun given(): PlaceGiven {
        val typed = home.typed("latitude") to home.typed("longitude")
        return when {
            home.typed("found").isNotEmpty() -> PlaceGiven.Found(home.typed("found"))
            typed.first.isNotBlank() || typed.second.isNotBlank() -> PlaceGiven.Typed(typed.first, typed.second)
            home.typed("corners").isNotEmpty() -> PlaceGiven.Edge(all("corners"))
            home.typed("fixes").isNotEmpty() -> PlaceGiven.Standing(all("fixes"))
            else -> PlaceGiven.NotSaid
        }
    }

    private fun begin(how: String) {
        home.type("walking", how)
        if (!whereabouts.allowed) return whereabouts.askPermission()
        latest = null
        val able = whereabouts.follow(::came)
        home.say(home.look.word(if (able) "phone.here-looking" else "phone.here-no"))
    }

    private fun came(fix: Location, ageMs: Long) {
        if (home.place != Place.AddSite) return stop()
        if (ageMs > OLDEST_MS) return
        if (!fix.hasAccuracy() || fix.accuracy > COARSE_M) return home.say(home.look.word("phone.here-coarse"))
        val here = Fix(fix.latitude, fix.longitude, fix.accuracy.toDouble())
        latest = here
        if (home.typed("walking") != "fixes") return
        add("fixes", here)
        if (all("fixes").size >= WANTED) stop()
        said()
    }

    private fun said() = home.ask({ it.sayPlace(given()) }) { home.say(it.text) }

    private fun add(field: String, fix: Fix) =
        home.type(field, "${home.typed(field)}\n${fix.latitude} ${fix.longitude} ${fix.accuracyM ?: ""}".trim())

    private fun all(field: String): List<Fix> = home.typed(field).lines().filter { it.isNotBlank() }.map { line ->
        val numbers = line.split(' ').mapNotNull { it.toDoubleOrNull() }
        Fix(numbers[0], numbers[1], numbers.getOrNull(2))
    }

    private companion object {
        /** An older fix may be of another place, a coarse one is never a site's, and ten make a pin. */
        const val COARSE_M = 100f
        const val OLDEST_MS = 60_000L
        const val WANTED = 10
    }
}
