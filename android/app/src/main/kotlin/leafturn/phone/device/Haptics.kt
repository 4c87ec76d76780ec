package leafturn.phone.device

import android.content.Context
import android.media.AudioManager
import android.media.ToneGenerator
import android.os.VibrationEffect
import android.os.Vibrator
import leafturn.phone.Settings

/** What the hand feels and the ear hears. Three that cannot be mistaken: short, twice, long. */
enum class Feel(val timings: LongArray, val tone: Int, val toneMs: Int) {
    COUNTED(longArrayOf(0, 20), ToneGenerator.TONE_PROP_BEEP, 40),
    TAKEN_BACK(longArrayOf(0, 20, 70, 20), ToneGenerator.TONE_PROP_BEEP2, 120),
    REFUSED(longArrayOf(0, 160), ToneGenerator.TONE_PROP_NACK, 300),
}

fun interface Haptics {
    fun feel(feel: Feel)
}

/** The system's vibrator and tones, each where it is wanted and there is one. */
class SystemHaptics(context: Context, private val settings: Settings) : Haptics {
    private val vibrator = context.getSystemService(Vibrator::class.java)
    private var tones: ToneGenerator? = null

    override fun feel(feel: Feel) {
        if (settings.buzz && vibrator?.hasVibrator() == true) {
            vibrator.vibrate(VibrationEffect.createWaveform(feel.timings, -1))
        }
        if (settings.sound) tones()?.startTone(feel.tone, feel.toneMs)
    }

    /** Gives the tones back to the system. */
    fun release() {
        tones?.release()
        tones = null
    }

    /** A phone whose sound is in use elsewhere refuses a generator; then there is no tone. */
    private fun tones(): ToneGenerator? {
        tones = tones ?: runCatching { ToneGenerator(AudioManager.STREAM_SYSTEM, LOUDNESS) }.getOrNull()
        return tones
    }

    private companion object {
        const val LOUDNESS = 80
    }
}
