package leafturn.phone.device

import android.os.Handler
import android.os.Looper
import android.view.View

/** Speaks what changed: of a burst of taps only the last, at most once in 300 ms. */
class Announcer {
    private val later = Handler(Looper.getMainLooper())
    private var pending: Runnable? = null

    fun say(on: View, text: String) {
        pending?.let(later::removeCallbacks)
        pending = Runnable { on.announceForAccessibility(text) }.also { later.postDelayed(it, BURST_MS) }
    }

    private companion object {
        const val BURST_MS = 300L
    }
}
