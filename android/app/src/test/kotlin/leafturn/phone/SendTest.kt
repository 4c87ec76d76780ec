package leafturn.phone

import android.app.job.JobParameters
import android.os.PersistableBundle
import com.sun.net.httpserver.HttpServer
import java.net.InetSocketAddress
import java.net.ServerSocket
import java.util.concurrent.atomic.AtomicInteger
import java.util.concurrent.CountDownLatch
import leafturn.phone.send.Schedule
import leafturn.phone.send.SendService
import org.junit.Assert.assertEquals
import org.junit.Assert.assertFalse
import org.junit.Assert.assertTrue
import org.junit.Test
import org.junit.runner.RunWith
import org.robolectric.Robolectric
import org.robolectric.RobolectricTestRunner
import org.robolectric.Shadows.shadowOf

/** Sending where something is in the way: what the person sees is right, and nothing is lost. */
@RunWith(RobolectricTestRunner::class)
class SendTest {
    private fun waits(walk: Walk) = (walk.app.core.wait { it.sites() } as Outcome.Done).value.waits

    /** Joined, with two more eggs that the station does not have. */
    private fun behind(station: Station): Walk = station.joinedBy(Walk().begin()).also { walk ->
        walk.app.core.wait {
            it.openPlant("Asclepias syriaca")
            it.count("egg")
            it.count("egg")
        }
        walk.home.go(Place.Sending)
        walk.settle()
    }

    /** Nothing went, and when the network is good everything goes. */
    private fun nothingIsLost(walk: Walk, station: Station, before: String) {
        assertEquals(before, waits(walk))
        assertFalse(walk.outline(), walk.says("All sent"))
        walk.app.settings.station = station.address
        // A tap while the last run is still ending begins none: the person taps again.
        walk.until("all sent") {
            val idle = walk.maybe("send-now") != null
            val sent = walk.says("All sent")
            if (idle && !sent) sendNow(walk)
            idle && sent
        }
        assertEquals("All sent", waits(walk))
    }

    /** A network that answers everything with a page of its own, or leads elsewhere: not the station. */
    @Test
    fun aCaptivePortalIsNoStation() = Station.ofTest("portal").use { station ->
        val walk = behind(station)
        val before = waits(walk)
        for (status in listOf(200, 302, 401, 403, 410)) {
            val portal = HttpServer.create(InetSocketAddress("127.0.0.1", 0), 0)
            var tokens = 0
            val asked = AtomicInteger()
            portal.createContext("/") { exchange ->
                exchange.requestBody.readBytes()
                asked.incrementAndGet()
                if (exchange.requestURI.path == "/welcome") tokens += 1
                exchange.responseHeaders.add("content-type", "text/html")
                exchange.responseHeaders.add("location", "/welcome")
                val page = "<html>Please accept our terms</html>".toByteArray()
                exchange.sendResponseHeaders(status, page.size.toLong())
                exchange.responseBody.use { it.write(page) }
            }
            portal.start()
            walk.app.settings.station = "http://127.0.0.1:${portal.address.port}"
            // The words stand there from the portal before, so its own count tells that this one was asked.
            walk.until("it was tried against $status") {
                val idle = walk.maybe("send-now") != null
                if (idle && asked.get() == 0) sendNow(walk)
                idle && asked.get() > 0 && walk.says("No answer from the station")
            }
            assertFalse("$status does not ask to join again: ${walk.outline()}", walk.says("join again"))
            assertEquals("redirects are not followed, so no token goes there", 0, tokens)
            portal.stop(0)
        }
        nothingIsLost(walk, station, before)
        walk.leave()
    }

    @Test
    fun withoutANetworkItSaysSoAndKeepsEverything() = Station.ofTest("airplane").use { station ->
        val walk = behind(station)
        val before = waits(walk)
        walk.app.settings.station = "http://127.0.0.1:${ServerSocket(0).use { it.localPort }}"
        sendNow(walk)
        walk.until("it was tried") { walk.says("No answer from the station. Everything is kept here") && walk.maybe("send-now") != null }
        nothingIsLost(walk, station, before)
        walk.leave()
    }

    @Test
    fun aRevokedPhoneIsAskedToJoinAgainAndGoesOnCounting() = Station.ofTest("revoked").use { station ->
        val walk = behind(station)
        val before = waits(walk)
        station.revokeAll()
        sendNow(walk)
        walk.until("it was refused") { walk.says("asks this phone to join again") }
        assertEquals(before, waits(walk))
        walk.home.go(Place.Counting)
        walk.settle()
        walk.tap("tile-egg")
        assertTrue(walk.outline(), walk.says("[egg: 3]"))
        walk.leave()
    }

    /** The system takes the time back: the connection is closed at once, the job is wanted again, and no retry is spent. */
    @Test
    fun aStoppedJobClosesItsConnectionAndCostsNoRetry() = Station.ofTest("stopped").use { station ->
        val walk = behind(station)
        val reached = CountDownLatch(1)
        ServerSocket(0).use { silent ->
            Thread {
                runCatching {
                    silent.accept().use { socket ->
                        reached.countDown()
                        while (socket.getInputStream().read() >= 0) Unit
                    }
                }
            }.start()
            walk.app.settings.station = "http://127.0.0.1:${silent.localPort}"
            val service = Robolectric.buildService(SendService::class.java).create().get()
            val job = parameters(Schedule.SEND_NOW)
            assertTrue("work goes on", service.onStartJob(job))
            reached.await()
            assertTrue("wanted again", service.onStopJob(job))
            walk.until("the run has ended") { !walk.app.send.busy }
        }
        val shown = (walk.app.core.wait { it.sending() } as Outcome.Done).value
        assertEquals("no time to wait for", null, shown.waitMs)
        walk.app.settings.station = station.address
        val service = Robolectric.buildService(SendService::class.java).create().get()
        service.onStartJob(parameters(Schedule.LEFTOVERS))
        walk.until("the job has finished") { shadowOf(service).isJobFinished }
        assertFalse("nothing is left", shadowOf(service).isRescheduleNeeded)
        assertEquals("All sent", waits(walk))
        walk.leave()
    }

    private fun parameters(id: Int) = JobParameters(
        null, null, id, PersistableBundle.EMPTY, null, null, 0, false, false, id == Schedule.SEND_NOW, null, null, null,
    )
}
