package leafturn.phone.screens

import android.view.View
import leafturn.core.EffortScreen
import leafturn.core.ShareOfPlants
import leafturn.core.StartScreen
import leafturn.phone.look.Drafts
import leafturn.phone.look.Look
import leafturn.phone.look.Page
import leafturn.phone.look.Press

interface StartActs : Drafts {
    fun observers(): Set<String>

    fun toggleObserver(observer: String)

    fun addObserver()

    fun protocol(): String

    fun chooseProtocol(protocol: String)

    fun share(): ShareOfPlants

    fun chooseShare(share: ShareOfPlants)

    fun about()

    fun season()

    fun outside()

    fun begin()
}

/** Before a visit: who searches, how plants are chosen, who takes which. What repeats is chosen already. */
fun startScreen(look: Look, shown: StartScreen, effort: EffortScreen, acts: StartActs): View {
    val page = Page(look, shown.name)
    page.heading(look.word("phone.how-chosen"))
    shown.protocols.forEach { own ->
        page.choice(
            Press(own.name, tag = "protocol-${own.protocol}") { acts.chooseProtocol(own.protocol) },
            own.protocol == acts.protocol(),
        )
        if (own.protocol == acts.protocol()) own.lines.forEach(page::quiet)
    }
    page.heading(look.word("phone.who"))
    shown.observers.forEach { own ->
        page.choice(
            Press(own.name, tag = "observer-${own.observer}") { acts.toggleObserver(own.observer) },
            own.observer in acts.observers(),
            alone = false,
        )
    }
    page.field(look.word("phone.observer-name"), "observer", acts)
    page.row(Press(look.word("phone.add"), tag = "add-observer") { acts.addObserver() })
    page.heading(look.word("phone.share"))
    ShareOfPlants.entries.forEach { own ->
        val word = look.word("phone.share.${own.name.lowercase()}")
        page.choice(Press(word, tag = "share-${own.name.lowercase()}") { acts.chooseShare(own) }, own == acts.share())
    }
    page.heading(effort.title)
    page.quiet(effort.expected)
    effort.lines.forEach(page::line)
    page.row(Press(look.word("phone.site"), tag = "site") { acts.about() })
    page.row(Press(look.word("phone.season"), tag = "season") { acts.season() })
    page.row(Press(look.word("phone.outside"), tag = "outside") { acts.outside() })
    page.field(look.word("phone.beside"), "beside", acts)
    page.press(Press(look.word("phone.begin"), tag = "begin") { acts.begin() }, strong = true)
    return page.view
}
