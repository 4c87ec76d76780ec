package leafturn.phone.lead

import android.Manifest.permission.POST_NOTIFICATIONS
import android.content.pm.PackageManager
import android.os.Build
import leafturn.core.Leafturn
import leafturn.core.SendingScreen
import leafturn.core.Wanted
import leafturn.phone.MainActivity
import leafturn.phone.Outcome
import leafturn.phone.Place
import leafturn.phone.look.Drafts
import leafturn.phone.screens.JoinActs
import leafturn.phone.screens.SendingActs
import leafturn.phone.screens.joinScreen
import leafturn.phone.screens.sendingScreen
import leafturn.phone.send.Networks
import leafturn.phone.send.Schedule
import leafturn.phone.send.SendRun
import leafturn.phone.words

/** What goes to the station. */
class SendingLead(private val home: MainActivity) {
    private var running: SendRun.Running? = null
    private val due = Runnable { run { it.timer() } }

    fun sending() = home.ask({ it.sending() }, ::show)

    fun join() = home.ask({ it.joinScreen() }) { home.show(joinScreen(home.look, it, joining)) }

    /** An invitation was scanned, by the phone's own camera or another app: it is shown before anything is done. */
    fun scanned(text: String) {
        home.type("scanned", text)
        home.go(Place.Join)
    }

    /** The screen is seen: steps are shown as they come. */
    fun seen() {
        home.app.send.watcher = ::show
    }

    /** Nobody looks: what was sent only while the app is looked at breaks off, and the system does the rest another time. */
    fun unseen() {
        home.app.send.watcher = {}
        home.frame.removeCallbacks(due)
        running?.stop()
        running = null
        Schedule.leftovers(home)
    }

    /** The question about notifications was answered; whatever the answer, what waits is sent. */
    fun answered() = sendNow()

    private fun show(now: SendingScreen) {
        if (home.place == Place.Sending) home.show(sendingScreen(home.look, now, home.app.send.busy, acts))
    }

    private val acts = object : SendingActs {
        override fun sendNow() {
            val ask = Build.VERSION.SDK_INT >= Build.VERSION_CODES.TIRAMISU && !home.app.settings.askedNotification &&
                home.checkSelfPermission(POST_NOTIFICATIONS) != PackageManager.PERMISSION_GRANTED
            if (!ask) return this@SendingLead.sendNow()
            home.app.settings.askedNotification = true
            home.requestPermissions(arrayOf(POST_NOTIFICATIONS), REQUEST)
        }

        override fun join() = home.go(Place.Join)

        override fun export() = home.handOver()

        override fun sites() = home.go(Place.Sites)
    }

    private fun sendNow() {
        val later = Schedule.sendNow(home)
        if (!later) {
            home.say(home.look.word("phone.send-visible"))
            run { it.syncWanted(Wanted(byPerson = true, Networks(home).metered)) }
        } else if (!Networks(home).any) {
            home.say(home.look.word("phone.send-when-network"))
        }
    }

    private val joining = object : JoinActs, Drafts by home {
        override fun scanned() = home.typed("scanned").substringAfter("address=", "").substringBefore('&')

        override fun join() {
            val scanned = home.typed("scanned")
            if (scanned.isNotEmpty()) return home.ask({ it.joinScanned(scanned) }) { joined(it.address, it.token) }
            val address = home.typed("station")
            home.ask({ it.join(home.typed("code")) }) { joined(address, it.token) }
        }

        override fun forgetScanned() {
            home.type("scanned", "")
            home.go(Place.Join)
        }
    }

    private fun joined(address: String, token: String) {
        home.app.settings.station = address
        home.app.vault.token = token
        listOf("code", "scanned").forEach { home.type(it, "") }
        home.arrive(Place.Sending)
        run { core -> core.syncWanted(Wanted(byPerson = true, Networks(home).metered)) }
    }

    /** Sends while the app is looked at; what has to wait a while is taken up again when its time has come. */
    private fun run(begin: (Leafturn) -> SendingScreen) {
        home.frame.removeCallbacks(due)
        running = home.app.send.start(begin) { last ->
            running = null
            when (last) {
                is Outcome.Done -> {
                    show(last.value)
                    last.value.waitMs?.let { home.frame.postDelayed(due, it.toLong()) }
                }
                is Outcome.Failed -> home.say(last.failure.words)
            }
        }
        sending()
    }

    companion object {
        const val REQUEST = 3
    }
}
