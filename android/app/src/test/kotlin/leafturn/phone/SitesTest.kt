package leafturn.phone

import android.Manifest.permission.ACCESS_FINE_LOCATION
import android.app.Activity
import android.app.Application
import android.content.Intent
import android.content.pm.PackageManager
import android.location.Location
import android.location.LocationManager
import android.net.Uri
import leafturn.phone.device.Whereabouts
import org.junit.Assert.assertEquals
import org.junit.Assert.assertNull
import org.junit.Assert.assertTrue
import org.junit.Test
import org.junit.runner.RunWith
import org.robolectric.RobolectricTestRunner
import org.robolectric.RuntimeEnvironment
import org.robolectric.Shadows.shadowOf

/** Sites: their page, their order, and places from a file. Everything in it is invented. */
@RunWith(RobolectricTestRunner::class)
class SitesTest {
    private fun <T> core(walk: Walk, work: (leafturn.core.Leafturn) -> T): T = (walk.app.core.wait(work) as Outcome.Done).value

    private fun names(walk: Walk) = walk.tagged("site-").map { (it as android.widget.TextView).text.lines().first() }

    /** The phone's picker gives back a file with this in it. */
    private fun pick(walk: Walk, content: String) {
        walk.tap("file")
        val asked = shadowOf(walk.home).nextStartedActivityForResult.intent
        assertEquals(Intent.ACTION_OPEN_DOCUMENT, asked.action)
        val address = Uri.parse("content://picked.invalid/${content.length}")
        shadowOf(walk.home.contentResolver).registerInputStream(address, content.byteInputStream())
        shadowOf(walk.home).receiveResult(asked, Activity.RESULT_OK, Intent().setData(address))
        walk.settle()
    }

    @Test
    fun aSiteIsRenamedAndItsNameLastsAndItsVisitsLeadBack() {
        val walk = Walk().begin()
        val site = core(walk) { core -> Scene.site(core).also { Scene.visit(core, it) } }
        walk.home.go(Place.Start(site))
        walk.settle()
        walk.tap("site")
        assertTrue(walk.outline(), walk.says("Latitude 45.0012"))
        walk.type("site-name", "Invented Corner")
        walk.tap("site-precision-EXACT")
        assertTrue(walk.outline(), walk.says("Anyone can find the place."))
        walk.recreate()
        assertEquals("what was typed is kept", "Invented Corner", walk.home.typed("site-name"))
        walk.tap("save")
        walk.home.go(Place.Sites)
        walk.settle()
        assertEquals(listOf("Invented Corner"), names(walk))
        walk.home.go(Place.Site(site))
        walk.settle()
        walk.tap(walk.tagged("visit-").single().tag as String)
        assertEquals(Place.Counting, walk.home.place)
        walk.leave()
    }

    @Test
    fun placesOfAFileAreOfferedAndOneIsTaken() {
        val walk = Walk().begin()
        walk.tap("add-site")
        pick(
            walk,
            """{"type":"FeatureCollection","features":[
            {"type":"Feature","properties":{"name":"Invented Bank"},"geometry":{"type":"Point","coordinates":[-92.5,45.5]}},
            {"type":"Feature","properties":{"name":"Invented Ditch"},"geometry":{"type":"Point","coordinates":[-92.6,45.6]}}]}""",
        )
        walk.tap("found-1")
        assertEquals("the name of the file is offered", "Invented Ditch", walk.home.typed("site-name"))
        walk.tap("save")
        assertEquals(listOf("Invented Ditch"), names(walk))
        val site = core(walk) { it.sites() }.sites.single().site
        assertTrue(core(walk) { it.site(site) }.place.startsWith("Latitude 45.6"))
        walk.leave()
    }

    @Test
    fun aFileThatHoldsNoPlaceIsRefusedInWordsAndNothingTypedIsLost() {
        val walk = Walk().begin()
        walk.tap("add-site")
        walk.type("site-name", "Invented Meadow")
        pick(walk, "no place at all")
        assertTrue(walk.outline(), walk.says("No place could be read from this file"))
        assertEquals("Invented Meadow", walk.home.typed("site-name"))
        walk.leave()
    }

    @Test
    fun theNearestComesFirstWhenAPersonAsks() {
        val walk = Walk().begin()
        core(walk) {
            Scene.site(it, "Alder Bank")
            it.addSite(leafturn.core.NewSite("Birch Ditch", "46.0", "-92.0", null, leafturn.core.Precision.HUNDREDTH))
        }
        walk.home.go(Place.Sites)
        walk.settle()
        assertEquals(listOf("Alder Bank", "Birch Ditch"), names(walk))
        walk.tap("near")
        assertTrue(ACCESS_FINE_LOCATION in shadowOf(walk.home).lastRequestedPermission.requestedPermissions)
        walk.home.onRequestPermissionsResult(Whereabouts.REQUEST, arrayOf(ACCESS_FINE_LOCATION), intArrayOf(PackageManager.PERMISSION_DENIED))
        walk.settle()
        assertTrue(walk.outline(), walk.says("order of names"))

        shadowOf(RuntimeEnvironment.getApplication() as Application).grantPermissions(ACCESS_FINE_LOCATION)
        val manager = RuntimeEnvironment.getApplication().getSystemService(LocationManager::class.java)!!
        shadowOf(manager).setProviderEnabled(LocationManager.GPS_PROVIDER, true)
        walk.tap("near")
        shadowOf(manager).simulateLocation(
            Location(LocationManager.GPS_PROVIDER).apply {
                latitude = 46.01
                longitude = -92.0
                accuracy = 500f
                time = 1
                elapsedRealtimeNanos = android.os.SystemClock.elapsedRealtimeNanos()
            },
        )
        walk.settle()
        assertEquals(listOf("Birch Ditch", "Alder Bank"), names(walk))
        assertNull("asked once", walk.maybe("near"))
        walk.leave()
    }
}
