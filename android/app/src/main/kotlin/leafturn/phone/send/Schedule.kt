package leafturn.phone.send

import android.app.Notification
import android.app.NotificationChannel
import android.app.NotificationManager
import android.app.job.JobInfo
import android.app.job.JobScheduler
import android.content.ComponentName
import android.content.Context
import android.net.ConnectivityManager
import android.os.Build

/** Asks the system for what runs without the app being looked at. Ids are constant: asking again replaces the request. */
object Schedule {
    const val LEFTOVERS = 1
    const val SEND_NOW = 2

    /** Sends leftovers on a network that costs nothing by volume, also after a restart of the phone. */
    fun leftovers(context: Context) {
        val job = job(context, LEFTOVERS).setRequiredNetworkType(JobInfo.NETWORK_TYPE_UNMETERED).setPersisted(true)
        context.getSystemService(JobScheduler::class.java)?.schedule(job.build())
    }

    /**
     * Asks for a transfer that a person wants at once and that goes on when the app is left: from level 34 on. Returns
     * whether the system took it; otherwise it is sent while the app is looked at.
     */
    fun sendNow(context: Context): Boolean {
        if (Build.VERSION.SDK_INT < Build.VERSION_CODES.UPSIDE_DOWN_CAKE) return false
        val job = job(context, SEND_NOW)
            .setUserInitiated(true)
            .setRequiredNetworkType(JobInfo.NETWORK_TYPE_ANY)
            .setEstimatedNetworkBytes(JobInfo.NETWORK_BYTES_UNKNOWN.toLong(), JobInfo.NETWORK_BYTES_UNKNOWN.toLong())
        return context.getSystemService(JobScheduler::class.java)?.schedule(job.build()) == JobScheduler.RESULT_SUCCESS
    }

    private fun job(context: Context, id: Int) = JobInfo.Builder(id, ComponentName(context, SendService::class.java))
}

/** The one notification: that counts are being sent because a person asked for it. */
object Notices {
    const val SENDING = 1
    private const val CHANNEL = "sending"

    fun sending(context: Context, text: String): Notification {
        val manager = context.getSystemService(NotificationManager::class.java)
        manager?.createNotificationChannel(NotificationChannel(CHANNEL, text, NotificationManager.IMPORTANCE_LOW))
        return Notification.Builder(context, CHANNEL).setSmallIcon(context.applicationInfo.icon).setContentTitle(text).setOngoing(true).build()
    }
}

/** What the system says of the network. */
class Networks(context: Context) {
    private val manager = context.getSystemService(ConnectivityManager::class.java)

    /** Whether it costs by volume; taken to be so where the system does not say. */
    val metered get() = manager?.isActiveNetworkMetered ?: true

    /** Whether there is any. */
    val any get() = manager?.activeNetwork != null
}
