package leafturn.phone.lead

import leafturn.core.CautionsScreen
import leafturn.core.HeatScreen
import leafturn.core.MineScreen
import leafturn.core.SettingsChosen
import leafturn.core.SettingsScreen
import leafturn.phone.MainActivity
import leafturn.phone.Place
import leafturn.phone.look.Form
import leafturn.phone.screens.MineActs
import leafturn.phone.screens.SettingsActs
import leafturn.phone.screens.cautionsScreen
import leafturn.phone.screens.licencesScreen
import leafturn.phone.screens.mineScreen
import leafturn.phone.screens.settingsScreen

/** What belongs to the person: settings, cautions, their data. */
class OwnLead(private val home: MainActivity) {
    fun settings() = home.ask({ it.settings() }, ::show)

    fun cautions() = home.ask({ it.cautions() }) { show(it, null) }

    fun mine() = home.ask({ it.myData() }) { show(it, sure = false) }

    fun licences() = home.ask({ it.licences() }) { home.show(licencesScreen(home.look, it)) }

    private fun show(now: SettingsScreen) {
        val form = Form(home, "settings") { change() }
        form.end()
        form.begin("") {
            fill("hand", now.hands)
            fill("language", now.languages)
            fill("theme", now.themes)
            fill("units", now.units)
            fill("on", now.switches)
        }
        home.show(settingsScreen(home.look, now, form, leads))
    }

    /** A press on a settings page is kept at once, and everything is drawn again as it now is. */
    private fun change() {
        val form = Form(home, "settings") {}
        fun one(field: String) = form.one(field)
        home.ask({ core ->
            val before = core.settings()
            fun kept(field: String, all: List<leafturn.core.Choice>) = one(field) ?: all.first { it.chosen }.name
            core.changeSettings(
                SettingsChosen(
                    form.text("language"), kept("hand", before.hands), kept("theme", before.themes),
                    kept("units", before.units), form.all("on"),
                ),
            )
        }) { home.restyle() }
    }

    private val leads = object : SettingsActs {
        override fun practice() = home.go(Place.Practice)

        override fun cautions() = home.go(Place.Cautions)

        override fun mine() = home.go(Place.Mine)

        override fun licences() = home.go(Place.Licences)
    }

    private fun show(now: CautionsScreen, heat: HeatScreen?) {
        val form = Form(home, "heat") { show(now, heat) }
        home.show(
            cautionsScreen(home.look, now, heat, form) {
                home.ask({ it.heat(form.text("air"), form.text("humidity")) }) { show(now, it) }
            },
        )
    }

    private fun show(now: MineScreen, sure: Boolean): Unit = home.show(
        mineScreen(
            home.look, now, sure,
            object : MineActs {
                override fun forget(observer: String) = home.ask({ it.forgetObserver(observer) }) { show(it, sure = false) }

                override fun export() = home.handOver()

                override fun confirm() = show(now, sure = true)

                override fun delete() = home.ask({ it.deleteEverything() }) {
                    home.app.vault.token = null
                    home.forget()
                    show(it, sure = false)
                }

                override fun back() = home.go(Place.SettingsPage)
            },
        ),
    )
}
