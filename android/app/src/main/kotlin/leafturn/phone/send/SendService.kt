package leafturn.phone.send

import android.app.job.JobParameters
import android.app.job.JobService
import android.os.Build
import leafturn.core.Wanted
import leafturn.phone.LeafturnApp
import leafturn.phone.Outcome

/** Sends when the system finds the time and the network for it. It shares the core with the screens. */
class SendService : JobService() {
    private val runs = mutableMapOf<Int, SendRun.Running>()

    override fun onStartJob(parameters: JobParameters): Boolean {
        val app = application as LeafturnApp
        val byPerson = parameters.jobId == Schedule.SEND_NOW
        if (byPerson && Build.VERSION.SDK_INT >= Build.VERSION_CODES.UPSIDE_DOWN_CAKE) {
            setNotification(
                parameters, Notices.SENDING, Notices.sending(this, app.settings.sendingWord), JOB_END_NOTIFICATION_POLICY_REMOVE,
            )
        }
        val metered = byPerson && Networks(this).metered
        runs[parameters.jobId] = app.send.start({ it.syncWanted(Wanted(byPerson, metered)) }) { last ->
            runs.remove(parameters.jobId)?.let { run ->
                val shown = (last as? Outcome.Done)?.value
                if (!run.stopped) jobFinished(parameters, shown?.allSent != true && shown?.joined == true)
                shown?.let(app.send.watcher)
            }
        }
        return true
    }

    /** The connection is closed, and the system is asked to try again. */
    override fun onStopJob(parameters: JobParameters): Boolean {
        runs.remove(parameters.jobId)?.stop()
        return true
    }
}
