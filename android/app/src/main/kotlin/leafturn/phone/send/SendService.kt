package leafturn.phone.send

import android.app.job.JobInfo
import android.app.job.JobParameters
import android.app.job.JobScheduler
import android.app.job.JobService
import android.content.ComponentName
import android.content.Context
import leafturn.core.Wanted
import leafturn.phone.LeafturnApp
import leafturn.phone.Outcome

/** Leftovers go when the system finds a network that costs nothing by volume. It shares the core with the screens. */
class SendService : JobService() {
    override fun onStartJob(parameters: JobParameters): Boolean {
        val app = application as LeafturnApp
        app.send.start(Wanted(byPerson = false, metered = false), progress = {}) { last ->
            jobFinished(parameters, (last as? Outcome.Done)?.value?.allSent != true)
        }
        return true
    }

    override fun onStopJob(parameters: JobParameters): Boolean {
        (application as LeafturnApp).send.stop()
        return true
    }
}

/** Asks the system for what runs without the app being looked at. */
object Schedule {
    /** Constant, so that asking again replaces what was asked before. */
    const val LEFTOVERS = 1

    /** Sends leftovers on a network that costs nothing by volume, also after a restart of the phone. */
    fun leftovers(context: Context) {
        val job = JobInfo.Builder(LEFTOVERS, ComponentName(context, SendService::class.java))
            .setRequiredNetworkType(JobInfo.NETWORK_TYPE_UNMETERED)
            .setPersisted(true)
            .build()
        context.getSystemService(JobScheduler::class.java)?.schedule(job)
    }
}
