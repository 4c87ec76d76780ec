package leafturn.phone

import java.io.File
import javax.xml.parsers.DocumentBuilderFactory
import org.junit.Assert.assertEquals
import org.junit.Assert.assertTrue
import org.junit.Test
import org.w3c.dom.Element

/** The manifest as it is shipped. */
class ManifestTest {
    private val manifest = DocumentBuilderFactory.newInstance().newDocumentBuilder()
        .parse(File(System.getProperty("leafturn.manifest"))).documentElement

    private fun all(name: String): List<Element> =
        manifest.getElementsByTagName(name).let { found -> (0 until found.length).map { found.item(it) as Element } }

    @Test
    fun permissionsAreThoseOnTheList() {
        val allowed = listOf(
            "ACCESS_COARSE_LOCATION", "ACCESS_FINE_LOCATION", "ACCESS_NETWORK_STATE", "INTERNET", "POST_NOTIFICATIONS",
            "RECEIVE_BOOT_COMPLETED", "RUN_USER_INITIATED_JOBS", "VIBRATE",
        )
        val asked = all("uses-permission").map { it.getAttribute("android:name").removePrefix("android.permission.") }
        assertEquals(allowed, asked.sorted())
        assertTrue(all("uses-feature").all { it.getAttribute("android:required") == "false" })
    }

    @Test
    fun onlyTheHomeScreenAndAnInvitationReachIn() {
        val parts = listOf("activity", "service", "receiver", "provider").flatMap(::all)
        val exported = parts.filter { it.getAttribute("android:exported") != "false" }
        assertEquals(listOf(".MainActivity"), exported.map { it.getAttribute("android:name") })
        assertEquals(listOf("leafturn"), all("data").map { it.getAttribute("android:scheme") })
        assertTrue(all("service").all { it.getAttribute("android:permission") == "android.permission.BIND_JOB_SERVICE" })
    }

    @Test
    fun nothingIsBackedUpAndNothingGoesUnencrypted() {
        val app = all("application").single()
        assertEquals("false", app.getAttribute("android:allowBackup"))
        assertEquals("@xml/data_extraction_rules", app.getAttribute("android:dataExtractionRules"))
        assertEquals("@xml/full_backup_content", app.getAttribute("android:fullBackupContent"))
        assertEquals("", app.getAttribute("android:usesCleartextTraffic"))
        val rules = File(System.getProperty("leafturn.manifest")).resolveSibling("res/xml/network_security_config.xml").readText()
        assertTrue("cleartextTrafficPermitted=\"false\"" in rules && "cleartextTrafficPermitted=\"true\"" !in rules)
    }

    @Test
    fun oldAndNewPhonesAreMeant() {
        val levels = all("uses-sdk").single()
        assertEquals("26", levels.getAttribute("android:minSdkVersion"))
        assertEquals("35", levels.getAttribute("android:targetSdkVersion"))
    }
}
