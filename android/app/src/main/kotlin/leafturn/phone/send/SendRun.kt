package leafturn.phone.send

import android.os.Handler
import android.os.Looper
import java.util.concurrent.Executors
import leafturn.core.SendingScreen
import leafturn.core.Wanted
import leafturn.phone.Core
import leafturn.phone.Outcome

/** Performs one request after another until the core has no more. One run at a time in a process. */
class SendRun(private val core: Core, private val wire: Wire) {
    private val line = Executors.newSingleThreadExecutor { work -> Thread(work, "send") }
    private val main = Handler(Looper.getMainLooper())

    @Volatile
    private var stopped = false

    /** Sends what can be sent. What is shown on the way, and at the end, arrives on the main thread. */
    fun start(wanted: Wanted, progress: (SendingScreen) -> Unit, done: (Outcome<SendingScreen>) -> Unit) {
        stopped = false
        line.execute {
            val last = run(wanted) { shown -> main.post { progress(shown) } }
            main.post { done(last) }
        }
    }

    /** Breaks off: the request under way counts as not answered, and is done again another time. */
    fun stop() {
        stopped = true
        wire.close()
    }

    private fun run(wanted: Wanted, progress: (SendingScreen) -> Unit): Outcome<SendingScreen> {
        var last = core.wait { it.syncWanted(wanted) }
        while (!stopped) {
            val request = when (val next = core.wait { it.nextRequest() }) {
                is Outcome.Failed -> return next
                is Outcome.Done -> next.value ?: return last
            }
            val outcome = wire.perform(request)
            last = core.wait { it.requestDone(request.id, outcome) }
            (last as? Outcome.Done)?.let { progress(it.value) }
        }
        return last
    }
}
