package leafturn.phone

import android.os.Bundle

/** Which screen is shown. All that a screen shows comes from the core; this is only where the person is. */
sealed class Place(val name: String, val about: String = "") {
    data object Sites : Place("sites")

    data object AddSite : Place("add-site")

    data class Start(val site: String) : Place("start", site)

    data class Site(val site: String) : Place("site", site)

    data class SiteNotes(val site: String) : Place("site-notes", site)

    data object Counting : Place("counting")

    data object Undecided : Place("undecided")

    data object States : Place("states")

    data object Hosts : Place("hosts")

    data object More : Place("more")

    data object Advice : Place("advice")

    data object Photo : Place("photo")

    data object KeyStart : Place("key-start")

    data object Key : Place("key")

    data class Measure(val character: String) : Place("measure", character)

    data object Practice : Place("practice")

    /** Of a plant; of none that is named, of the open one. */
    data class Details(val check: String = "") : Place("details", check)

    data object Weather : Place("weather")

    /** The visit as a whole, come to from the pad, or from the place of this name. */
    data class Visit(val from: String = "") : Place("visit", from)

    data object Notes : Place("notes")

    data class Outside(val site: String) : Place("outside", site)

    data class Season(val site: String) : Place("season", site)

    data object Review : Place("review")

    data object Matching : Place("matching")

    data object Sending : Place("sending")

    data object Join : Place("join")

    data object SettingsPage : Place("settings")

    data object Cautions : Place("cautions")

    data object Mine : Place("mine")

    data object Licences : Place("licences")

    fun save(into: Bundle) {
        into.putString("place", name)
        into.putString("about", about)
    }

    /** Where "back" leads; `null` leaves the app. */
    fun back(): Place? = when (this) {
        Sites -> null
        AddSite, is Start, Sending, SettingsPage, Counting -> Sites
        Undecided, States, Hosts, More, Photo, Review, Advice, KeyStart, Key, Weather, Notes -> Counting
        Matching -> Review
        is Details -> if (check.isEmpty()) Counting else Review
        is Visit -> if (from == Review.name) Review else Counting
        is Site -> Start(site)
        is SiteNotes -> Site(site)
        is Measure -> Key
        is Outside, is Season -> Sites
        Join -> Sending
        Cautions, Mine, Licences, Practice -> SettingsPage
    }

    companion object {
        fun restored(from: Bundle?): Place {
            val about = from?.getString("about").orEmpty()
            val all = listOf(
                Sites, AddSite, Start(about), Site(about), SiteNotes(about), Counting, Undecided, States, Hosts, More, Photo, KeyStart, Key, Measure(about),
                Practice, Details(about), Weather, Visit(about), Notes, Matching, Advice, Outside(about), Season(about), Review, Sending, Join, SettingsPage, Cautions, Mine,
                Licences,
            )
            return all.firstOrNull { it.name == from?.getString("place") } ?: Sites
        }
    }
}
