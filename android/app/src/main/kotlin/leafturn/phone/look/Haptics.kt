package leafturn.phone.look

import android.content.Context
import android.os.VibrationEffect
import android.os.Vibrator

/** What the hand feels. Three that cannot be mistaken: short, twice, long. */
enum class Feel(val timings: LongArray) {
    COUNTED(longArrayOf(0, 20)),
    TAKEN_BACK(longArrayOf(0, 20, 70, 20)),
    REFUSED(longArrayOf(0, 160)),
}

fun interface Haptics {
    fun feel(feel: Feel)
}

/** The system's vibrator, where there is one and it is wanted. */
class SystemHaptics(context: Context, private val wanted: () -> Boolean) : Haptics {
    private val vibrator = context.getSystemService(Vibrator::class.java)

    override fun feel(feel: Feel) {
        if (wanted() && vibrator?.hasVibrator() == true) {
            vibrator.vibrate(VibrationEffect.createWaveform(feel.timings, -1))
        }
    }
}
