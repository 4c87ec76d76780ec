package leafturn.phone

import android.os.Handler
import android.os.Looper
import java.util.concurrent.Callable
import java.util.concurrent.ExecutionException
import java.util.concurrent.Executors
import leafturn.core.Failure
import leafturn.core.Leafturn

/** What came of a call of the core. */
sealed interface Outcome<out T> {
    data class Done<T>(val value: T) : Outcome<T>

    data class Failed(val failure: Failure) : Outcome<Nothing>
}

/**
 * The core behind one thread: calls are done one after another in the order in which they were asked for, and what came
 * of them arrives on the main thread. Nothing is shown before it is durable.
 */
class Core(private val open: () -> Leafturn) {
    private val line = Executors.newSingleThreadExecutor { work -> Thread(work, "core") }
    private val main = Handler(Looper.getMainLooper())
    private var opened: Leafturn? = null

    /** Does the work on the core's thread, and hands its outcome to the main thread. */
    fun <T> call(work: (Leafturn) -> T, then: (Outcome<T>) -> Unit) {
        line.execute {
            val outcome = outcomeOf(work)
            main.post { then(outcome) }
        }
    }

    /** Does the work on the core's thread while the caller, never the main thread, waits. */
    fun <T> wait(work: (Leafturn) -> T): Outcome<T> =
        try {
            line.submit(Callable { outcomeOf(work) }).get()
        } catch (broken: ExecutionException) {
            throw IllegalStateException(broken.cause)
        }

    /** Lets go of the journal, so that another object may open it. */
    fun close() {
        line.submit {
            opened?.close()
            opened = null
        }.get()
    }

    private fun <T> outcomeOf(work: (Leafturn) -> T): Outcome<T> =
        try {
            Outcome.Done(work(opened ?: open().also { opened = it }))
        } catch (failure: Failure) {
            Outcome.Failed(failure)
        }
}

/** What to show of a failure: the core's words, whatever its kind. */
val Failure.words: String
    get() = when (this) {
        is Failure.Refused -> text
        is Failure.TryAgain -> text
        is Failure.FreeSpace -> text
        is Failure.UseTheOther -> text
        is Failure.OpenBeside -> text
        is Failure.OpenAgain -> text
        is Failure.StartedAgain -> text
        is Failure.Report -> text
    }
