package leafturn.phone

import android.content.Context
import java.util.Locale
import java.util.TimeZone
import leafturn.core.Choice
import leafturn.core.SettingsScreen

/** Which hand holds the phone: what is used most lies under its thumb. */
enum class Hand { RIGHT, LEFT }

enum class Theme { LIGHT, DARK }

/** What a person set: read from the core, which keeps it, and held for as long as the process lives. And what only the shell knows. */
class Settings(context: Context) {
    private val kept = context.getSharedPreferences("settings", Context.MODE_PRIVATE)
    private var chosenLanguage = ""

    /** Takes over what the core keeps. */
    fun take(shown: SettingsScreen) {
        fun one(choices: List<Choice>) = choices.first { it.chosen }.name
        val on = shown.switches.filter { it.chosen }.map { it.name }
        hand = Hand.valueOf(one(shown.hands).uppercase())
        theme = Theme.valueOf(one(shown.themes).uppercase())
        chosenLanguage = one(shown.languages)
        buzz = "buzz" in on
        sound = "sound" in on
        volumeKeys = "volume-keys" in on
        lens = "lens-mode" in on
    }

    var hand = Hand.RIGHT
        private set

    var theme = Theme.LIGHT
        private set

    /** The tag of the language: the phone's, until another one is chosen. */
    val language: String get() = chosenLanguage.ifEmpty { Locale.getDefault().toLanguageTag() }

    var buzz = true
        private set

    var sound = false
        private set

    var volumeKeys = false
        private set

    /** Counting with the eye at a lens: by the volume keys, and each act is spoken. */
    var lens = false
        private set

    /** Whether the system was asked once to let this app show that it sends. */
    var askedNotification: Boolean
        get() = kept.getBoolean("asked-notification", false)
        set(value) = kept.edit().putBoolean("asked-notification", value).apply()

    /** What the notification says: a job may begin before the core was asked for its words. */
    var sendingWord: String
        get() = kept.getString("sending-word", null).orEmpty()
        set(value) = kept.edit().putString("sending-word", value).apply()

    /** The address of the station, such as `https://station.example`. */
    var station: String
        get() = kept.getString("station", null).orEmpty()
        set(value) = kept.edit().putString("station", value.trim().trimEnd('/')).apply()
}

/** Minutes that local time is ahead of UTC at this moment. */
fun offsetMinutes(): Short =
    (TimeZone.getDefault().getOffset(System.currentTimeMillis()) / 60_000).toShort()
