package leafturn.phone.lead

import leafturn.core.Beginning
import leafturn.core.EffortScreen
import leafturn.core.Fix
import leafturn.core.JoinScreen
import leafturn.core.ShareOfPlants
import leafturn.core.SitesScreen
import leafturn.core.StartScreen
import leafturn.phone.MainActivity
import leafturn.phone.Place
import leafturn.phone.device.Whereabouts
import leafturn.phone.look.Drafts
import leafturn.phone.screens.SitesActs
import leafturn.phone.screens.StartActs
import leafturn.phone.screens.seasonScreen
import leafturn.phone.screens.sitesScreen
import leafturn.phone.screens.startScreen

/** From the list of sites to the beginning of a visit. */
class SitesLead(private val home: MainActivity) {
    private val whereabouts = Whereabouts(home)

    fun list(): Unit = home.ask({ it.sites() to it.joinScreen() }) { (now, join) -> show(now, join) }

    /** The question for the permission was answered, which was asked for the order of the list. */
    fun answered() = if (whereabouts.allowed) near() else home.say(home.look.word("phone.near-no"))

    /** Nobody looks at the list: the receiver is let go. */
    fun stop() = whereabouts.stop()

    fun start(site: String) = home.ask({ it.start(site) to it.effort(site) }) { (start, effort) -> show(start, effort) }

    fun season(site: String) = home.ask({ it.season(site) }) { now ->
        home.show(
            seasonScreen(home.look, now) { own ->
                home.picture(SEASON_WIDE, SEASON_HIGH) { it.seasonDrawing(site, own, SEASON_WIDE.toUInt()) }
            },
        )
    }

    private val sites = object : SitesActs {
        override fun open(site: String) = home.go(Place.Start(site))

        override fun goOn() = home.go(Place.Counting)

        override fun addSite() = home.go(Place.AddSite)

        override fun near() = this@SitesLead.near()

        override fun join() = home.go(Place.Join)

        override fun skipJoin() = home.ask({ it.skipJoin() }) { list() }

        override fun sending() = home.go(Place.Sending)

        override fun settings() = home.go(Place.SettingsPage)
    }

    private fun show(now: SitesScreen, join: JoinScreen): Unit = home.show(sitesScreen(home.look, now, join, sites))

    /** The first fix is enough to order a list by, however coarse. */
    private fun near() {
        if (!whereabouts.allowed) return whereabouts.askPermission()
        val able = whereabouts.follow { fix, _ ->
            stop()
            val here = Fix(fix.latitude, fix.longitude, null)
            if (home.place == Place.Sites) home.ask({ it.sitesNear(here) to it.joinScreen() }) { (now, join) -> show(now, join) }
        }
        if (!able) home.say(home.look.word("phone.near-no"))
    }

    private fun show(start: StartScreen, effort: EffortScreen) {
        if (home.typed("start-site") != start.site) {
            home.type("start-site", start.site)
            home.type("protocol", start.protocols.first().protocol)
            home.type("observers", start.observers.filter { it.chosen }.joinToString(" ") { it.observer })
            home.type("share", ShareOfPlants.ALL.name)
        }
        home.show(startScreen(home.look, start, effort, StartOf(start, effort)))
    }

    private inner class StartOf(private val start: StartScreen, private val effort: EffortScreen) : StartActs, Drafts by home {
        override fun observers() = home.typed("observers").split(' ').filter { it.isNotEmpty() }.toSet()

        override fun toggleObserver(observer: String) {
            val now = observers()
            home.type("observers", (if (observer in now) now - observer else now + observer).joinToString(" "))
            show(start, effort)
        }

        override fun addObserver() {
            val known = start.observers.map { it.observer }.toSet()
            home.ask({ it.addObserver(start.site, home.typed("observer")) }) { after ->
                home.type("observer", "")
                val added = after.observers.map { it.observer }.filter { it !in known }
                home.type("observers", (observers() + added).joinToString(" "))
                show(after, effort)
            }
        }

        override fun protocol() = home.typed("protocol")

        override fun chooseProtocol(protocol: String) {
            home.type("protocol", protocol)
            show(start, effort)
        }

        override fun share() = ShareOfPlants.entries.firstOrNull { it.name == home.typed("share") } ?: ShareOfPlants.ALL

        override fun chooseShare(share: ShareOfPlants) {
            home.type("share", share.name)
            show(start, effort)
        }

        override fun about() = home.go(Place.Site(start.site))

        override fun season() = home.go(Place.Season(start.site))

        override fun outside() = home.go(Place.Outside(start.site))

        override fun begin() {
            val beginning = Beginning(start.site, protocol(), observers().toList(), share(), home.typed("beside"))
            home.ask({ it.beginVisit(beginning) }) {
                home.type("start-site", "")
                home.type("beside", "")
                home.go(Place.Counting)
            }
        }
    }

    private companion object {
        const val SEASON_WIDE = 288
        const val SEASON_HIGH = 200
    }
}
