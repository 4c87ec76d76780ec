package leafturn.phone

import android.Manifest.permission.ACCESS_FINE_LOCATION
import android.Manifest.permission.POST_NOTIFICATIONS
import android.app.Application
import android.app.job.JobInfo
import android.app.job.JobScheduler
import android.content.Intent
import android.content.pm.PackageManager
import android.graphics.Bitmap
import android.location.Location
import android.location.LocationManager
import android.net.Uri
import android.provider.MediaStore
import java.io.ByteArrayInputStream
import java.util.zip.GZIPInputStream
import leafturn.phone.device.Handed
import leafturn.phone.device.Whereabouts
import leafturn.phone.lead.SendingLead
import leafturn.phone.send.Schedule
import leafturn.phone.send.SendService
import org.junit.Assert.assertEquals
import org.junit.Assert.assertFalse
import org.junit.Assert.assertNotNull
import org.junit.Assert.assertNull
import org.junit.Assert.assertTrue
import org.junit.Test
import org.junit.runner.RunWith
import org.robolectric.RobolectricTestRunner
import org.robolectric.RuntimeEnvironment
import org.robolectric.Shadows.shadowOf
import org.robolectric.shadows.ShadowTextToSpeech
import org.robolectric.shadows.ShadowToneGenerator
import org.robolectric.util.ReflectionHelpers

/**
 * What only the system can do. These tests see what the app asks the system for; whether a phone's system then does it is
 * not seen here.
 */
@RunWith(RobolectricTestRunner::class)
class SystemTest {
    private val scheduler get() = RuntimeEnvironment.getApplication().getSystemService(JobScheduler::class.java)!!

    private fun pending(id: Int) = scheduler.allPendingJobs.filter { it.id == id }

    /** A phone that has joined and has something more to send, with its station gone. */
    private fun joined(): Walk = Station.ofTest("system").use { station -> station.joinedBy(Walk().begin()) }.also { walk ->
        walk.app.core.wait { Scene.counting(it) }
        walk.home.go(Place.Sending)
        walk.settle()
    }

    @Test
    fun `asks the system for leftovers on a network that costs nothing by volume, at every opening, once`() {
        val walk = Walk().begin()
        walk.recreate()
        val job = pending(Schedule.LEFTOVERS).single()
        assertEquals(JobInfo.NETWORK_TYPE_UNMETERED, job.networkType)
        assertTrue("also after a restart of the phone", job.isPersisted)
        assertEquals(SendService::class.java.name, job.service.className)
        walk.leave()
    }

    @Test
    fun `asks the system for a notification at the first send now only, and for a transfer whatever the answer`() {
        val walk = joined()
        assertTrue(walk.outline(), walk.maybe("send-now") != null)
        walk.tap("send-now")
        assertEquals(POST_NOTIFICATIONS, shadowOf(walk.home).lastRequestedPermission.requestedPermissions.single())
        assertEquals("not before the question is answered", 0, pending(Schedule.SEND_NOW).size)
        walk.home.onRequestPermissionsResult(SendingLead.REQUEST, arrayOf(POST_NOTIFICATIONS), intArrayOf(PackageManager.PERMISSION_DENIED))
        walk.settle()
        val job = pending(Schedule.SEND_NOW).single()
        assertTrue("goes on when the app is left", job.isUserInitiated)
        assertEquals("any network: a person asked", JobInfo.NETWORK_TYPE_ANY, job.networkType)
        scheduler.cancel(Schedule.SEND_NOW)
        walk.tap("send-now")
        assertEquals("the question is not asked again", 1, pending(Schedule.SEND_NOW).size)
        walk.leave()
    }

    @Test
    fun `asks the system for nothing before level 34, sends while it is looked at and says so`() {
        val walk = joined()
        ReflectionHelpers.setStaticField(android.os.Build.VERSION::class.java, "SDK_INT", 30)
        walk.tap("send-now")
        walk.until("it was tried") { walk.says("No answer from the station") }
        assertEquals(0, pending(Schedule.SEND_NOW).size)
        assertTrue(walk.outline(), walk.says("keep the app in view"))
        ReflectionHelpers.setStaticField(android.os.Build.VERSION::class.java, "SDK_INT", 35)
        walk.leave()
    }

    @Test
    fun `asks the system for its camera, and keeps no photo that has not come`() {
        val walk = asked()
        walk.tap("more")
        assertTrue(walk.outline(), walk.says("Please take a photo"))
        walk.tap("photo-take")
        val intent = shadowOf(walk.home).nextStartedActivityForResult.intent
        assertEquals(MediaStore.ACTION_IMAGE_CAPTURE, intent.action)
        @Suppress("DEPRECATION")
        val address = intent.getParcelableExtra<Uri>(MediaStore.EXTRA_OUTPUT)!!
        assertEquals(Handed.address(walk.home, Handed.PHOTO), address)
        shadowOf(walk.home).receiveResult(intent, android.app.Activity.RESULT_CANCELED, null)
        walk.settle()
        assertTrue("still asked for: ${walk.outline()}", walk.says("Please take a photo"))

        walk.tap("more")
        walk.tap("photo-take")
        val again = shadowOf(walk.home).nextStartedActivityForResult.intent
        val picture = Bitmap.createBitmap(4000, 3000, Bitmap.Config.ARGB_8888)
        walk.home.contentResolver.openOutputStream(address)!!.use { picture.compress(Bitmap.CompressFormat.JPEG, 80, it) }
        shadowOf(walk.home).receiveResult(again, android.app.Activity.RESULT_OK, null)
        walk.settle()
        assertTrue(walk.outline(), walk.maybe("tile-egg") != null && !walk.says("Please take a photo"))
        assertFalse("nothing is left in the cache", Handed.file(walk.home, Handed.PHOTO).exists())
        walk.leave()
    }

    @Test
    fun aPhotoThatIsNotPossibleIsNotAskedForAgain() {
        val walk = asked()
        walk.tap("more")
        walk.tap("photo-not")
        assertFalse(walk.outline(), walk.says("Please take a photo"))
        walk.tap("more")
        assertTrue("more is more: ${walk.outline()}", walk.maybe("states") != null)
        walk.leave()
    }

    /** Counts until a photo is asked for: about one animal in 15. */
    private fun asked(): Walk {
        val walk = Walk().begin()
        walk.app.core.wait {
            Scene.visit(it, Scene.site(it))
            it.openPlant("Asclepias syriaca")
            Scene.untilPhoto(it)
        }
        walk.home.go(Place.Counting)
        walk.settle()
        return walk
    }

    @Test
    fun `asks the system for who may take the file, and grants that file alone`() {
        val walk = Walk().begin()
        walk.app.core.wait { Scene.counting(it) }
        walk.home.go(Place.Sending)
        walk.settle()
        walk.tap("export")
        val chooser = shadowOf(walk.home).nextStartedActivity
        assertEquals(Intent.ACTION_CHOOSER, chooser.action)
        @Suppress("DEPRECATION")
        val send = chooser.getParcelableExtra<Intent>(Intent.EXTRA_INTENT)!!
        assertTrue(send.flags and Intent.FLAG_GRANT_READ_URI_PERMISSION != 0)
        val octets = walk.home.contentResolver.openInputStream(send.clipData!!.getItemAt(0).uri)!!.use { it.readBytes() }
        assertTrue("a gzip stream with something in it", GZIPInputStream(ByteArrayInputStream(octets)).readBytes().size > 1000)
        val foreign = Uri.parse("content://leafturn.phone.handed/..%2F..%2Fdatabases%2Fjournal")
        assertTrue(runCatching { walk.home.contentResolver.openInputStream(foreign) }.isFailure)
        walk.leave()
    }

    @Test
    fun `asks the system for the exact place when a person presses, and a refusal leaves the rest working`() {
        val walk = Walk().begin()
        walk.tap("add-site")
        assertNull("not before", shadowOf(walk.home).lastRequestedPermission)
        walk.tap("here")
        assertTrue(ACCESS_FINE_LOCATION in shadowOf(walk.home).lastRequestedPermission.requestedPermissions)
        walk.home.onRequestPermissionsResult(Whereabouts.REQUEST, arrayOf(ACCESS_FINE_LOCATION), intArrayOf(PackageManager.PERMISSION_DENIED))
        walk.settle()
        assertTrue(walk.outline(), walk.says("Type the place, or leave it empty"))
        walk.type("site-name", "Invented Meadow")
        walk.tap("save")
        assertTrue(walk.outline(), walk.says("Invented Meadow"))
        walk.leave()
    }

    @Test
    fun tenGoodFixesMakeAPinAndACoarseOneMakesNone() {
        shadowOf(RuntimeEnvironment.getApplication() as Application).grantPermissions(ACCESS_FINE_LOCATION)
        val manager = RuntimeEnvironment.getApplication().getSystemService(LocationManager::class.java)!!
        shadowOf(manager).setProviderEnabled(LocationManager.GPS_PROVIDER, true)
        val walk = Walk().begin()
        walk.tap("add-site")
        walk.tap("here")
        fun fix(latitude: Double, metres: Float) {
            shadowOf(android.os.Looper.getMainLooper()).idleFor(java.time.Duration.ofSeconds(2))
            val fix = Location(LocationManager.GPS_PROVIDER).apply {
                this.latitude = latitude
                longitude = -92.9987
                accuracy = metres
                time = 1
                elapsedRealtimeNanos = android.os.SystemClock.elapsedRealtimeNanos()
            }
            shadowOf(manager).simulateLocation(fix)
            walk.settle()
        }
        fix(46.0, 2000f)
        assertEquals("", walk.home.typed("fixes"))
        assertTrue(walk.outline(), walk.says("only roughly"))
        repeat(10) { fix(45.0012 + (it % 2) * 0.00001, 6f) }
        assertEquals("ten and no more", 10, walk.home.typed("fixes").lines().size)
        assertTrue(walk.outline(), walk.says("45.0012"))
        assertEquals("the receiver is let go", 0, shadowOf(manager).getLegacyLocationRequests(LocationManager.GPS_PROVIDER).size)
        walk.leave()
    }

    @Test
    fun atTheLensTheVolumeKeysCountAndEachActIsSpoken() {
        val walk = asked()
        Scene.switchOn(walk, "lens-mode")
        val speech = shadowOf(ShadowTextToSpeech.getLastTextToSpeechInstance())
        speech.onInitListener.onInit(android.speech.tts.TextToSpeech.SUCCESS)
        listOf(android.view.KeyEvent.ACTION_DOWN, android.view.KeyEvent.ACTION_UP).forEach {
            walk.home.dispatchKeyEvent(android.view.KeyEvent(it, android.view.KeyEvent.KEYCODE_VOLUME_UP))
        }
        walk.settle()
        assertTrue(speech.lastSpokenText.orEmpty(), speech.lastSpokenText.orEmpty().startsWith("egg: "))
        walk.leave()
    }

    @Test
    fun aSoundIsHeardWhereItIsWantedAndDiffersByAct() {
        val walk = asked()
        walk.tap("tile-egg")
        assertEquals("off until it is switched on", 0, ShadowToneGenerator.getPlayedTones().size)
        Scene.switchOn(walk, "sound")
        walk.tap("tile-egg")
        walk.tap("take-back")
        val played = ShadowToneGenerator.getPlayedTones()
        assertEquals(2, played.toSet().size)
        assertNotNull(played)
        walk.leave()
    }
}
