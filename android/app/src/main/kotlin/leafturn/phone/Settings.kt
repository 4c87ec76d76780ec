package leafturn.phone

import android.content.Context
import java.util.Locale
import java.util.TimeZone

/** Which hand holds the phone: what is used most lies under its thumb. */
enum class Hand { RIGHT, LEFT }

enum class Theme { LIGHT, DARK }

/** What a person set. Kept on this phone alone. */
class Settings(context: Context) {
    private val kept = context.getSharedPreferences("settings", Context.MODE_PRIVATE)

    var hand: Hand
        get() = Hand.valueOf(kept.getString("hand", null) ?: Hand.RIGHT.name)
        set(value) = kept.edit().putString("hand", value.name).apply()

    var theme: Theme
        get() = Theme.valueOf(kept.getString("theme", null) ?: Theme.LIGHT.name)
        set(value) = kept.edit().putString("theme", value.name).apply()

    /** The tag of the language: the phone's, until another one is chosen. */
    var language: String
        get() = kept.getString("language", null) ?: Locale.getDefault().toLanguageTag()
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

    /** The address of the station, such as `https://station.example`. */
    var station: String
        get() = kept.getString("station", null).orEmpty()
        set(value) = kept.edit().putString("station", value.trim().trimEnd('/')).apply()
}

/** Minutes that local time is ahead of UTC at this moment. */
fun offsetMinutes(): Short =
    (TimeZone.getDefault().getOffset(System.currentTimeMillis()) / 60_000).toShort()
