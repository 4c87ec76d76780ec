package leafturn.phone

import android.content.Context
import java.util.Locale
import java.util.TimeZone
import leafturn.core.Choice
import leafturn.core.SettingsScreen

/** Which hand holds the phone: what is used most lies under its thumb. */
enum class Hand { RIGHT, LEFT }

enum class Theme { LIGHT, DARK }

/** What a person set, as the core keeps it; a copy for what happens before the core is asked. And what only the shell knows. */
class Settings(context: Context) {
    private val kept = context.getSharedPreferences("settings", Context.MODE_PRIVATE)

    /** Takes over what the core keeps. */
    fun take(shown: SettingsScreen) {
        fun one(choices: List<Choice>) = choices.first { it.chosen }.name
        val on = shown.switches.filter { it.chosen }.map { it.name }
        hand = Hand.valueOf(one(shown.hands).uppercase())
        theme = Theme.valueOf(one(shown.themes).uppercase())
        language = one(shown.languages)
        buzz = "buzz" in on
        sound = "sound" in on
        volumeKeys = "volume-keys" in on
        lens = "lens-mode" in on
    }

    var hand: Hand
        get() = Hand.valueOf(kept.getString("hand", null) ?: Hand.RIGHT.name)
        set(value) = kept.edit().putString("hand", value.name).apply()

    var theme: Theme
        get() = Theme.valueOf(kept.getString("theme", null) ?: Theme.LIGHT.name)
        set(value) = kept.edit().putString("theme", value.name).apply()

    /** The tag of the language: the phone's, until another one is chosen. */
    var language: String
        get() = kept.getString("language", null).orEmpty().ifEmpty { Locale.getDefault().toLanguageTag() }
        set(value) = kept.edit().putString("language", value).apply()

    var buzz: Boolean
        get() = kept.getBoolean("buzz", true)
        set(value) = kept.edit().putBoolean("buzz", value).apply()

    var sound: Boolean
        get() = kept.getBoolean("sound", false)
        set(value) = kept.edit().putBoolean("sound", value).apply()

    var volumeKeys: Boolean
        get() = kept.getBoolean("volume-keys", false)
        set(value) = kept.edit().putBoolean("volume-keys", value).apply()

    /** Counting with the eye at a lens: by the volume keys, and each act is spoken. */
    var lens: Boolean
        get() = kept.getBoolean("lens", false)
        set(value) = kept.edit().putBoolean("lens", value).apply()

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
