package leafturn.phone

import java.io.ByteArrayInputStream
import java.io.File
import java.io.InputStream
import leafturn.phone.device.beginning
import org.junit.Assert.assertArrayEquals
import org.junit.Assert.assertEquals
import org.junit.Test

/** What is read of a stream, on the oldest phones too. */
class OctetsTest {
    private val octets = ByteArray(20_000) { (it % 251).toByte() }

    /** Gives one octet at a time, as a bad line does. */
    private fun dripping() = object : InputStream() {
        private val all = ByteArrayInputStream(octets)

        override fun read() = all.read()

        override fun read(into: ByteArray, at: Int, most: Int) = all.read(into, at, minOf(1, most))
    }

    @Test
    fun theBeginningIsReadAndNoMoreOfIt() {
        listOf(0, 1, 8_192, 8_193, octets.size, octets.size + 1).forEach { most ->
            val wanted = octets.copyOf(minOf(most, octets.size))
            assertArrayEquals("$most at once", wanted, ByteArrayInputStream(octets).beginning(most))
            assertArrayEquals("$most in drips", wanted, dripping().beginning(most))
        }
    }

    /** The tests run on the framework of level 35, which has more than the lowest level, 26: java.io.InputStream got these at 33. */
    @Test
    fun nothingIsReadWithWhatTheOldestPhonesLack() {
        val newer = Regex("""\.(readNBytes|readAllBytes|transferTo|skipNBytes)\(""")
        val sources = File(System.getProperty("leafturn.sources")).walk().filter { it.extension == "kt" }.toList()
        assertEquals("the sources were found", true, sources.size > 20)
        assertEquals(listOf<String>(), sources.filter { newer.containsMatchIn(it.readText()) }.map { it.name })
    }
}
