package leafturn.phone

import android.os.Bundle

/** Which screen is shown. All that a screen shows comes from the core; this is only where the person is. */
sealed class Place(val name: String, val about: String = "") {
    data object Sites : Place("sites")

    data object AddSite : Place("add-site")

    data class Start(val site: String) : Place("start", site)

    data object Counting : Place("counting")

    data object Undecided : Place("undecided")

    data object States : Place("states")

    data object Hosts : Place("hosts")

    data object More : Place("more")

    data object Photo : Place("photo")

    data object KeyStart : Place("key-start")

    data object Key : Place("key")

    data class Measure(val character: String) : Place("measure", character)

    data object Practice : Place("practice")

    data object Details : Place("details")

    data object Weather : Place("weather")

    data object Visit : Place("visit")

    data object Notes : Place("notes")

    data class Outside(val site: String) : Place("outside", site)

    data class Season(val site: String) : Place("season", site)

    data object Review : Place("review")

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
        Undecided, States, Hosts, More, Photo, Review, KeyStart, Key, Details, Weather, Visit, Notes -> Counting
        is Measure -> Key
        is Outside, is Season -> Sites
        Join -> Sending
        Cautions, Mine, Licences, Practice -> SettingsPage
    }

    companion object {
        fun restored(from: Bundle?): Place {
            val about = from?.getString("about").orEmpty()
            val all = listOf(
                Sites, AddSite, Start(about), Counting, Undecided, States, Hosts, More, Photo, KeyStart, Key, Measure(about),
                Practice, Details, Weather, Visit, Notes, Outside(about), Season(about), Review, Sending, Join, SettingsPage, Cautions, Mine,
                Licences,
            )
            return all.firstOrNull { it.name == from?.getString("place") } ?: Sites
        }
    }
}
