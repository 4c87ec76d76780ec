package leafturn.phone.screens

import android.view.View
import leafturn.core.SeasonDrawing
import leafturn.core.SeasonScreen
import leafturn.phone.look.Look
import leafturn.phone.look.Page
import leafturn.phone.look.Picture

/** A site's season: what was found and how sure that is, what to expect, when to come again. */
fun seasonScreen(look: Look, shown: SeasonScreen, picture: (SeasonDrawing) -> Picture): View {
    val page = Page(look, shown.title)
    shown.none?.let(page::line)
    shown.comeAgain?.let { again ->
        page.heading(again.title)
        again.lines.forEach(page::line)
        again.assumed.forEach(page::quiet)
    }
    if (shown.expect.isNotEmpty()) page.heading(shown.expectTitle)
    shown.expect.forEach(page::line)
    shown.seasons.forEach { own ->
        page.heading(own.title)
        own.drawings.forEach { page.drawing(picture(it)) }
        own.lines.forEach(page::quiet)
    }
    page.quiet(shown.note)
    return page.view
}
