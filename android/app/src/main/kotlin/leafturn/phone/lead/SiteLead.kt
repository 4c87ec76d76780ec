package leafturn.phone.lead

import leafturn.core.PlaceGiven
import leafturn.core.Precision
import leafturn.core.SiteScreen
import leafturn.core.SiteTyped
import leafturn.phone.MainActivity
import leafturn.phone.Place
import leafturn.phone.device.Feel
import leafturn.phone.look.Form
import leafturn.phone.screens.SiteActs
import leafturn.phone.screens.siteScreen

/** The page of one site. */
class SiteLead(private val home: MainActivity) {
    fun page(site: String) = home.ask({ it.site(site) }, ::show)

    private fun show(now: SiteScreen) {
        val form = Form(home, "site") { show(now) }
        form.begin(now.site) {
            write("name", now.name.value)
            write("stems", now.stems.value)
            write("precision", now.precisions.firstOrNull { it.chosen }?.precision?.name.orEmpty())
            fill("land", now.land)
            fill("danaus", now.otherDanaus)
        }
        home.show(siteScreen(home.look, now, form, Acts(now.site, form)))
    }

    private inner class Acts(private val site: String, private val form: Form) : SiteActs {
        override fun visit(visit: String) = home.ask({ it.takeInHand(visit) }) { home.go(Place.Counting) }

        override fun notes() = home.go(Place.SiteNotes(site))

        override fun season() = home.go(Place.Season(site))

        override fun save() {
            val precision = Precision.entries.firstOrNull { it.name == form.one("precision") }
            val typed = SiteTyped(form.text("name"), PlaceGiven.NotSaid, precision, form.one("land"), form.one("danaus"), form.text("stems"))
            home.ask({ it.describeSite(site, typed) }) {
                form.end()
                home.haptics.feel(Feel.COUNTED)
                home.go(Place.Start(site))
            }
        }
    }
}
