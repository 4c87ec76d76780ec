package leafturn.phone.send

import java.io.File
import java.io.IOException
import java.net.HttpURLConnection
import java.net.InetAddress
import java.net.URL
import javax.net.ssl.HttpsURLConnection
import javax.net.ssl.SSLException
import leafturn.core.Answer
import leafturn.core.HttpRequest
import leafturn.core.RequestBody
import leafturn.core.RequestOutcome
import leafturn.phone.device.beginning

/** Performs the core's requests with the system's HTTP stack: no redirects, bodies streamed at their length. */
class Wire(
    private val folder: File,
    private val station: () -> String,
    private val token: () -> String?,
    private val cleartext: Cleartext,
    private val judge: Judge,
) {
    enum class Cleartext { REFUSED, LOOPBACK }

    @Volatile
    private var connection: HttpURLConnection? = null

    /**
     * One request, one outcome; whatever goes wrong on the way is "no answer". `stopped` says whether it was broken off
     * before there was a connection that [close] could have broken.
     */
    fun perform(request: HttpRequest, stopped: () -> Boolean): RequestOutcome =
        try {
            answered(request, stopped)
        } catch (_: IOException) {
            RequestOutcome.Failed
        } catch (_: SecurityException) {
            RequestOutcome.Failed
        } finally {
            connection = null
        }

    /** Breaks off what is under way. */
    fun close() {
        connection?.disconnect()
    }

    private fun answered(request: HttpRequest, stopped: () -> Boolean): RequestOutcome {
        val address = station()
        val url = URL(address + request.path)
        if (!mayCarryTokens(url)) throw IOException("not encrypted")
        val connection = url.openConnection() as HttpURLConnection
        this.connection = connection
        connection.requestMethod = request.method
        connection.instanceFollowRedirects = false
        connection.useCaches = false
        connection.connectTimeout = TIMEOUT_MS
        connection.readTimeout = TIMEOUT_MS
        val secured = (connection as? HttpsURLConnection)?.let { own -> Secured(address, judge).also { it.dress(own) } to own }
        request.headers.forEach { connection.setRequestProperty(it.name, it.value) }
        token()?.takeIf { request.withToken }?.let { connection.setRequestProperty("authorization", "Bearer $it") }
        try {
            prepare(connection, request)
            connection.connect()
            if (stopped()) throw IOException("broken off")
            send(connection, request.body)
            val answer = answer(connection)
            secured?.let { (own, by) -> own.answered(by) }
            return RequestOutcome.Answered(answer)
        } catch (broken: SSLException) {
            secured?.first?.failed()
            throw broken
        } finally {
            connection.disconnect()
        }
    }

    /** Whether there is a body, and how long it is: to be said before there is a connection. */
    private fun prepare(connection: HttpURLConnection, request: HttpRequest) {
        connection.doOutput = when (val body = request.body) {
            is RequestBody.Nothing -> request.method != "GET" && request.method != "HEAD"
            // Held in memory already and not streamed: while it streams, some stacks throw the body of a 401 away.
            is RequestBody.Octets -> true
            is RequestBody.File -> {
                connection.setFixedLengthStreamingMode(File(folder, body.name).length())
                true
            }
        }
    }

    private fun send(connection: HttpURLConnection, body: RequestBody) {
        if (!connection.doOutput) return
        val octets = when (body) {
            is RequestBody.Nothing -> ByteArray(0).inputStream()
            is RequestBody.Octets -> body.octets.inputStream()
            is RequestBody.File -> File(folder, body.name).inputStream()
        }
        connection.outputStream.use { out -> octets.use { it.copyTo(out) } }
    }

    private fun answer(connection: HttpURLConnection): Answer {
        val status = connection.responseCode
        val stream = if (status >= HttpURLConnection.HTTP_BAD_REQUEST) connection.errorStream else connection.inputStream
        val body = stream?.use { it.beginning(MOST_OCTETS) } ?: ByteArray(0)
        return Answer(
            status = status.toUShort(),
            contentType = connection.getHeaderField("content-type").orEmpty(),
            retryAfter = connection.getHeaderField("retry-after"),
            photo = connection.getHeaderField("leafturn-photo"),
            body = body,
        )
    }

    private fun mayCarryTokens(url: URL): Boolean = when (url.protocol) {
        "https" -> true
        "http" -> cleartext == Cleartext.LOOPBACK && InetAddress.getByName(url.host).isLoopbackAddress
        else -> false
    }

    private companion object {
        const val TIMEOUT_MS = 30_000
        const val MOST_OCTETS = 2 * 1024 * 1024
    }
}
