package leafturn.phone.send

import android.os.Handler
import android.os.Looper
import java.util.concurrent.Executors
import leafturn.core.Leafturn
import leafturn.core.SendingScreen
import leafturn.phone.Core
import leafturn.phone.Outcome

/** Performs one request after another until the core has no more. One run at a time in a process. */
class SendRun(private val core: Core, private val wire: Wire) {
    private val line = Executors.newSingleThreadExecutor { work -> Thread(work, "send") }
    private val main = Handler(Looper.getMainLooper())

    @Volatile
    private var current: Running? = null

    /** Told of every step, whoever asked for the run; on the main thread. */
    var watcher: (SendingScreen) -> Unit = {}

    /** Whether requests are being performed at this moment. */
    val busy get() = current != null

    /** Sends what can be sent, beginning with this call. What came of it arrives on the main thread. */
    fun start(begin: (Leafturn) -> SendingScreen, done: (Outcome<SendingScreen>) -> Unit): Running {
        val running = Running()
        line.execute {
            current = running
            val last = if (running.stopped) brokenOff() else run(running, begin)
            current = null
            main.post { done(last) }
        }
        return running
    }

    /** A run that was asked for. */
    inner class Running {
        @Volatile
        internal var stopped = false

        /** Breaks off. The request under way counts as one that never was: it costs no retry and is made again. */
        fun stop() {
            stopped = true
            if (current === this) wire.close()
        }
    }

    private fun run(running: Running, begin: (Leafturn) -> SendingScreen): Outcome<SendingScreen> {
        var last = core.wait(begin)
        while (!running.stopped) {
            val request = when (val next = core.wait { it.nextRequest() }) {
                is Outcome.Failed -> return next
                is Outcome.Done -> next.value ?: return last
            }
            val outcome = wire.perform(request) { running.stopped }
            last = core.wait { it.requestDone(request.id, outcome) }
            (last as? Outcome.Done)?.let { shown -> main.post { watcher(shown.value) } }
        }
        return brokenOff()
    }

    private fun brokenOff() = core.wait { it.networkLost() }
}
