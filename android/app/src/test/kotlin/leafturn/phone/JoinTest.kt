package leafturn.phone

import android.content.Intent
import android.net.Uri
import java.net.URI
import org.junit.Assert.assertEquals
import org.junit.Assert.assertFalse
import org.junit.Assert.assertNull
import org.junit.Assert.assertTrue
import org.junit.Test
import org.junit.runner.RunWith
import org.robolectric.Robolectric
import org.robolectric.RobolectricTestRunner

/** Joining a station: left for later, scanned, with a certificate that nobody vouches for, and with a wrong one. */
@RunWith(RobolectricTestRunner::class)
class JoinTest {
    private fun <T> core(walk: Walk, work: (leafturn.core.Leafturn) -> T): T = (walk.app.core.wait(work) as Outcome.Done).value

    private fun waits(walk: Walk) = core(walk) { it.sites() }.waits

    /** The phone's own camera read this from a picture, and starts the app with it. */
    private fun scanned(text: String) =
        Walk(Robolectric.buildActivity(MainActivity::class.java, Intent(Intent.ACTION_VIEW, Uri.parse(text)))).begin()

    @Test
    fun joiningIsLeftForLaterAndNotOfferedAgain() {
        val walk = Walk().begin()
        walk.tap("skip-join")
        assertNull(walk.outline(), walk.maybe("join"))
        walk.recreate()
        assertNull(walk.outline(), walk.maybe("skip-join"))
        walk.tap("sending")
        assertTrue("it can be done at any time", walk.maybe("join") != null)
        walk.leave()
    }

    @Test
    fun aScannedInvitationIsShownAndJoinedOnlyWhenThePersonSaysSo() {
        val walk = scanned("leafturn:join?v=1&address=https://192.0.2.7:8787&code=BCD-FGH-JKL")
        assertTrue(walk.outline(), walk.says("https://192.0.2.7:8787"))
        walk.recreate()
        assertTrue("after a turn, too: ${walk.outline()}", walk.says("https://192.0.2.7:8787"))
        walk.tap("forget-scanned")
        assertTrue("typed instead", walk.maybe("code") != null)
        assertNull("nothing was joined", walk.app.vault.token)
        walk.leave()
    }

    @Test
    fun aTextThatIsNoInvitationIsRefusedInWords() {
        val walk = scanned("leafturn:join?v=1&address=http://192.0.2.7&code=BCD-FGH-JKL")
        walk.tap("join-now")
        assertNull(walk.app.vault.token)
        assertTrue("the page is still there", walk.maybe("join-now") != null)
        walk.leave()
    }

    @Test
    fun aStationIsBelievedByTheKeyThatWasScannedAndNobodyElseIs() {
        val folder = Station.folderOf("tls")
        val listen: String
        val walk: Walk
        Station.withCertificate(folder).use { station ->
            listen = URI(station.address).authority
            val own = Walk().begin()
            val site = core(own) { Scene.site(it).also { site -> Scene.visit(it, site) } }
            own.leave()
            walk = scanned(station.inviteToScan(site))
            walk.tap("join-now")
            walk.until("joined and sent") { walk.says("All sent") && walk.maybe("send-now") != null }
            assertEquals(station.address, walk.app.settings.station)
        }
        core(walk) {
            it.openPlant("Asclepias syriaca")
            it.count("egg")
        }
        val before = waits(walk)

        // Somebody else answers at the same place, with a certificate of the same name and another key.
        Station.withCertificate(Station.folderOf("other"), listen).use {
            walk.home.go(Place.Sending)
            walk.settle()
            sendNow(walk)
            walk.until("it was tried") { walk.maybe("send-now") != null && walk.says(OTHER) }
            assertEquals(before, waits(walk))
        }
        Station.withCertificate(folder, listen).use {
            walk.until("all sent") {
                val idle = walk.maybe("send-now") != null
                val sent = walk.says("All sent")
                if (idle && !sent) sendNow(walk)
                idle && sent
            }
        }
        assertFalse(walk.outline(), walk.says(OTHER))
        walk.leave()
    }

    @Test
    fun withoutAScannedKeyACertificateThatNobodyVouchesForIsRefused() {
        val folder = Station.folderOf("typed")
        Station.withCertificate(folder).use { station ->
            val walk = Walk().begin()
            val site = core(walk) { Scene.site(it) }
            walk.home.go(Place.Join)
            walk.settle()
            walk.type("station", station.address)
            walk.type("code", station.invite(site))
            walk.tap("join-now")
            walk.until("it was tried") { walk.says("certificate") }
            walk.leave()
        }
    }

    private companion object {
        /** How it is said that the key is not the one that was scanned. */
        const val OTHER = "This is not the station that you scanned"
    }
}
