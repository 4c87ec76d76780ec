package leafturn.phone

import android.view.KeyEvent
import leafturn.core.Beginning
import leafturn.core.CountingScreen
import leafturn.core.Leafturn
import leafturn.core.NewSite
import leafturn.core.Precision
import leafturn.core.ReviewScreen
import leafturn.core.SendingScreen
import leafturn.core.ShareOfPlants
import leafturn.core.StartScreen
import leafturn.core.Wanted
import leafturn.phone.look.Drafts
import leafturn.phone.look.Feel
import leafturn.phone.look.Specimen
import leafturn.phone.screens.AddSiteActs
import leafturn.phone.screens.CountingActs
import leafturn.phone.screens.CountingView
import leafturn.phone.screens.HostsActs
import leafturn.phone.screens.MoreActs
import leafturn.phone.screens.ReviewActs
import leafturn.phone.screens.SendingActs
import leafturn.phone.screens.SitesActs
import leafturn.phone.screens.StartActs
import leafturn.phone.screens.addSiteScreen
import leafturn.phone.screens.cautionsScreen
import leafturn.phone.screens.hostsScreen
import leafturn.phone.screens.joinScreen
import leafturn.phone.screens.moreScreen
import leafturn.phone.screens.reviewScreen
import leafturn.phone.screens.sendingScreen
import leafturn.phone.screens.settingsScreen
import leafturn.phone.screens.sitesScreen
import leafturn.phone.screens.startScreen
import leafturn.phone.screens.statesScreen
import leafturn.phone.screens.undecidedScreen

/** Joins each place to the call that gives its record, the function that draws it, and the calls that its targets make. */
class Screens(private val home: MainActivity) {
    private var counting: CountingView? = null
    private var lastCounted = ""
    private var shown: CountingScreen? = null
    private var busy = false

    fun draw(place: Place) {
        if (place != Place.Counting) counting = null
        when (place) {
            Place.Sites -> home.ask({ it.sites() }) { home.show(sitesScreen(home.look, it, sites)) }
            Place.AddSite -> home.show(addSiteScreen(home.look, addSite))
            is Place.Start -> home.ask({ it.start(place.site) }) { showStart(it) }
            Place.Counting -> home.ask({ it.counting() }, ::showCounting)
            Place.Undecided -> home.ask({ it.counting() }) { home.show(undecidedScreen(home.look, it, ::countAside)) }
            Place.States -> home.ask({ it.counting() }) { home.show(statesScreen(home.look, it, ::countInState)) }
            Place.Hosts -> home.ask({ it.counting() }) { home.show(hostsScreen(home.look, it, otherHost)) }
            Place.More -> home.ask({ it.counting() }) { home.show(moreScreen(home.look, it, more)) }
            Place.Review -> home.ask({ it.review() }, ::showReview)
            Place.Sending -> home.ask({ it.sending() }, ::showSending)
            Place.Join -> home.show(joinScreen(home.look, home, ::join))
            Place.SettingsPage -> home.show(
                settingsScreen(home.look, home.app.settings, home::restyle) { home.go(Place.Cautions) },
            )
            Place.Cautions -> home.show(cautionsScreen(home.look))
        }
    }

    /** A drawing has come: the tiles are written again. */
    fun repaint() = shown?.let { counting?.show(it) } ?: Unit

    /** Keys of the phone and of a keyboard, while counting: digits count, and the rest is as on the screen. */
    fun key(event: KeyEvent): Boolean {
        val now = shown?.takeIf { home.place == Place.Counting && it.open } ?: return false
        val act: (() -> Unit)? = when (event.keyCode) {
            in KeyEvent.KEYCODE_1..KeyEvent.KEYCODE_9 ->
                now.tiles.getOrNull(event.keyCode - KeyEvent.KEYCODE_1)?.let { { pad.count(it.what) } }
            KeyEvent.KEYCODE_0 -> pad::empty
            KeyEvent.KEYCODE_N -> pad::next
            KeyEvent.KEYCODE_U, KeyEvent.KEYCODE_DEL -> pad::takeBack
            KeyEvent.KEYCODE_VOLUME_UP -> volume { pad.count(lastCounted.ifEmpty { now.tiles.first().what }) }
            KeyEvent.KEYCODE_VOLUME_DOWN -> volume(pad::takeBack)
            else -> null
        }
        if (act != null && event.action == KeyEvent.ACTION_DOWN && event.repeatCount == 0) act()
        return act != null
    }

    private fun volume(act: () -> Unit) = act.takeIf { home.app.settings.volumeKeys }

    private val sites = object : SitesActs {
        override fun open(site: String) = home.go(Place.Start(site))

        override fun goOn() = home.go(Place.Counting)

        override fun addSite() = home.go(Place.AddSite)

        override fun sending() = home.go(Place.Sending)

        override fun settings() = home.go(Place.SettingsPage)
    }

    private val addSite = object : AddSiteActs, Drafts by home {
        override fun precision() =
            Precision.entries.firstOrNull { it.name == home.typed("precision") } ?: Precision.HUNDREDTH

        override fun choose(precision: Precision) {
            home.type("precision", precision.name)
            home.go(Place.AddSite)
        }

        override fun here() = Whereabouts(home).ask { found ->
            if (found == null) {
                home.say(home.look.word("phone.here-no"))
                return@ask
            }
            home.type("latitude", found.latitude.toString())
            home.type("longitude", found.longitude.toString())
            home.type("accuracy", found.accuracy.toString())
            home.go(Place.AddSite)
        }

        override fun save() {
            val typed = NewSite(
                name = home.typed("site-name"),
                latitude = home.typed("latitude"),
                longitude = home.typed("longitude"),
                accuracyM = home.typed("accuracy").toDoubleOrNull(),
                precision = precision(),
            )
            home.ask({ it.addSite(typed) }) {
                listOf("site-name", "latitude", "longitude", "accuracy", "precision").forEach { home.type(it, "") }
                home.go(Place.Sites)
            }
        }
    }

    private fun showStart(start: StartScreen) {
        if (home.typed("start-site") != start.site) {
            home.type("start-site", start.site)
            home.type("protocol", start.protocols.first().protocol)
            home.type("observers", start.observers.filter { it.chosen }.joinToString(" ") { it.observer })
            home.type("share", ShareOfPlants.ALL.name)
        }
        home.show(startScreen(home.look, start, StartOf(start)))
    }

    private inner class StartOf(private val start: StartScreen) : StartActs, Drafts by home {
        override fun observers() = home.typed("observers").split(' ').filter { it.isNotEmpty() }.toSet()

        override fun toggleObserver(observer: String) {
            val now = observers()
            home.type("observers", (if (observer in now) now - observer else now + observer).joinToString(" "))
            showStart(start)
        }

        override fun addObserver() {
            val known = start.observers.map { it.observer }.toSet()
            home.ask({ it.addObserver(start.site, home.typed("observer")) }) { after ->
                home.type("observer", "")
                val added = after.observers.map { it.observer }.filter { it !in known }
                home.type("observers", (observers() + added).joinToString(" "))
                showStart(after)
            }
        }

        override fun protocol() = home.typed("protocol")

        override fun chooseProtocol(protocol: String) {
            home.type("protocol", protocol)
            showStart(start)
        }

        override fun share() = ShareOfPlants.entries.firstOrNull { it.name == home.typed("share") } ?: ShareOfPlants.ALL

        override fun chooseShare(share: ShareOfPlants) {
            home.type("share", share.name)
            showStart(start)
        }

        override fun begin() {
            val beginning = Beginning(start.site, protocol(), observers().toList(), share(), home.typed("beside"))
            home.ask({ it.beginVisit(beginning) }) {
                home.type("start-site", "")
                home.type("beside", "")
                home.go(Place.Counting)
            }
        }
    }

    private fun showCounting(now: CountingScreen) {
        shown = now
        if (!now.open) {
            counting = null
            home.show(hostsScreen(home.look, now, firstHost))
            return
        }
        val view = counting ?: CountingView(home.look, pad).also {
            counting = it
            home.show(it.view)
        }
        view.show(now)
    }

    private val pad = object : CountingActs {
        override fun count(what: String) {
            lastCounted = what
            act(Feel.COUNTED, { it.count(what) }) { now -> now.tiles.firstOrNull { it.what == what }?.announcement }
        }

        override fun uncount(what: String) =
            act(Feel.TAKEN_BACK, { it.uncount(what) }) { now -> now.tiles.firstOrNull { it.what == what }?.announcement }

        override fun empty() = act(Feel.COUNTED, { it.emptyPlant() })

        override fun next() = act(Feel.COUNTED, { it.nextPlant() })

        override fun takeBack() {
            val label = shown?.takeBack?.text
            act(Feel.TAKEN_BACK, { it.takeBack() }) { label }
        }

        override fun undecided() = home.go(Place.Undecided)

        override fun more() = home.go(Place.More)

        override fun specimen(name: String): Specimen? = home.specimen(name)
    }

    /** An act of counting: felt and shown when it is durable, and spoken at the end of a burst. */
    private fun act(feel: Feel, work: (Leafturn) -> CountingScreen, spoken: (CountingScreen) -> String? = { null }) {
        home.ask(work) { now ->
            home.haptics.feel(feel)
            home.quieten()
            showCounting(now)
            spoken(now)?.let { text -> counting?.view?.let { home.announcer.say(it, text) } }
        }
    }

    /** An act from a screen beside the pad, which leads back to it. */
    private fun aside(feel: Feel, work: (Leafturn) -> CountingScreen) = home.ask(work) { now ->
        home.haptics.feel(feel)
        home.arrive(Place.Counting)
        showCounting(now)
    }

    private fun countAside(what: String) = aside(Feel.COUNTED) { it.count(what) }

    private fun countInState(what: String, state: String) = aside(Feel.COUNTED) { it.countInState(what, state) }

    private val firstHost = object : HostsActs {
        override fun choose(host: String) = aside(Feel.COUNTED) { it.openPlant(host) }

        override fun takeBack() = pad.takeBack()

        override fun review() = home.go(Place.Review)
    }

    private val otherHost = object : HostsActs by firstHost {
        override fun choose(host: String) = aside(Feel.COUNTED) { it.changeHost(host) }

        override fun takeBack() = aside(Feel.TAKEN_BACK) { it.takeBack() }
    }

    private val more = object : MoreActs {
        override fun states() = home.go(Place.States)

        override fun hosts() = home.go(Place.Hosts)

        override fun closeInPart() = aside(Feel.COUNTED) { it.closeInPart() }

        override fun closeUnsearched() = aside(Feel.COUNTED) { it.closeUnsearched() }

        override fun redo() = aside(Feel.COUNTED) { it.redo() }

        override fun review() = home.go(Place.Review)
    }

    private fun showReview(now: ReviewScreen) = home.show(
        reviewScreen(
            home.look,
            now,
            object : ReviewActs {
                override fun end() = home.ask({ it.endVisit() }, ::showReview)

                override fun takeBack() = home.ask({ it.takeBack(); it.review() }, ::showReview)

                override fun counting() = home.go(Place.Counting)

                override fun sites() = home.go(Place.Sites)

                override fun sending() = home.go(Place.Sending)
            },
        ),
    )

    private fun showSending(now: SendingScreen) {
        if (home.place == Place.Sending) home.show(sendingScreen(home.look, now, busy, sending))
    }

    private val sending = object : SendingActs {
        override fun sendNow() = send(byPerson = true)

        override fun join() = home.go(Place.Join)

        override fun export() {
            val file = java.io.File(home.cacheDir, "leafturn-journal.gz")
            home.ask({ it.exportTo(file.path) }) { home.say(it) }
        }

        override fun sites() = home.go(Place.Sites)
    }

    private fun join() {
        home.app.settings.station = home.typed("station")
        home.ask({ it.join(home.typed("code")) }) {
            home.app.vault.token = it.token
            home.type("code", "")
            home.arrive(Place.Sending)
            send(byPerson = true)
        }
    }

    private fun send(byPerson: Boolean) {
        busy = true
        draw(Place.Sending)
        val metered = home.getSystemService(android.net.ConnectivityManager::class.java)?.isActiveNetworkMetered ?: true
        home.app.send.start(Wanted(byPerson, metered), ::showSending) { last ->
            busy = false
            when (last) {
                is Outcome.Done -> showSending(last.value)
                is Outcome.Failed -> home.say(last.failure.words)
            }
        }
    }
}
