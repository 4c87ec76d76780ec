package leafturn.phone.device

import java.io.ByteArrayOutputStream
import java.io.InputStream

private const val AT_ONCE = 8 * 1024

/**
 * The first octets of a stream, at most as many as said. `InputStream.readNBytes` does the same, and phones have it from
 * level 33 on only.
 */
fun InputStream.beginning(most: Int): ByteArray {
    val read = ByteArrayOutputStream()
    val some = ByteArray(AT_ONCE)
    while (read.size() < most) {
        val count = read(some, 0, minOf(some.size, most - read.size()))
        if (count < 0) break
        read.write(some, 0, count)
    }
    return read.toByteArray()
}
