package leafturn.phone.send

import java.net.Socket
import java.security.KeyStore
import java.security.cert.CertificateException
import java.security.cert.X509Certificate
import javax.net.ssl.HttpsURLConnection
import javax.net.ssl.SSLContext
import javax.net.ssl.SSLEngine
import javax.net.ssl.TrustManagerFactory
import javax.net.ssl.X509ExtendedTrustManager
import leafturn.core.CertificateJudged
import leafturn.core.CertificateSeen
import leafturn.phone.Core
import leafturn.phone.Outcome

/** Who says whether a certificate is good. */
interface Judge {
    /** `null` where it cannot be said: then the connection is broken off. */
    fun judged(seen: CertificateSeen): CertificateJudged?

    fun accepted(key: String, next: String?)

    fun refused(refusal: String)
}

/** The core: it knows the keys that were scanned with the invitation. */
class CoreJudge(private val core: Core) : Judge {
    override fun judged(seen: CertificateSeen) = (core.wait { it.judgeCertificate(seen) } as? Outcome.Done)?.value

    override fun accepted(key: String, next: String?) {
        core.wait { it.connectionAccepted(key, next) }
    }

    override fun refused(refusal: String) {
        core.wait { it.connectionRefused(refusal) }
    }
}

/**
 * One connection with TLS. The system's own check is always made; where it refuses, the core may know the station's key.
 * The signature of the handshake is verified by TLS in any case.
 */
internal class Secured(private val address: String, private val judge: Judge) {
    private var judged: CertificateJudged? = null
    private var byKey = false

    fun dress(connection: HttpsURLConnection) {
        val context = SSLContext.getInstance("TLS")
        context.init(null, arrayOf(Manager()), null)
        connection.sslSocketFactory = context.socketFactory
        val byName = HttpsURLConnection.getDefaultHostnameVerifier()
        // A key that was scanned is this station's, whatever name its certificate has.
        connection.setHostnameVerifier { host, session -> byKey || byName.verify(host, session) }
    }

    /** The station answered: it may announce its next key. */
    fun answered(connection: HttpsURLConnection) {
        judged?.let { judge.accepted(it.key, connection.getHeaderField("leafturn-next-key")) }
    }

    /** The connection failed: because of its certificate, perhaps. */
    fun failed() {
        judged?.refusal?.let(judge::refused)
    }

    private inner class Manager : X509ExtendedTrustManager() {
        private val system = TrustManagerFactory.getInstance(TrustManagerFactory.getDefaultAlgorithm())
            .apply { init(null as KeyStore?) }.trustManagers.filterIsInstance<X509ExtendedTrustManager>().first()

        override fun checkServerTrusted(chain: Array<X509Certificate>, kind: String, socket: Socket) =
            check(chain) { system.checkServerTrusted(chain, kind, socket) }

        override fun checkServerTrusted(chain: Array<X509Certificate>, kind: String, engine: SSLEngine) =
            check(chain) { system.checkServerTrusted(chain, kind, engine) }

        override fun checkServerTrusted(chain: Array<X509Certificate>, kind: String) =
            check(chain) { system.checkServerTrusted(chain, kind) }

        override fun checkClientTrusted(chain: Array<X509Certificate>, kind: String, socket: Socket) = nobody()

        override fun checkClientTrusted(chain: Array<X509Certificate>, kind: String, engine: SSLEngine) = nobody()

        override fun checkClientTrusted(chain: Array<X509Certificate>, kind: String) = nobody()

        override fun getAcceptedIssuers(): Array<X509Certificate> = system.acceptedIssuers

        private fun check(chain: Array<X509Certificate>, bySystem: () -> Unit) {
            val trusted = runCatching(bySystem).isSuccess
            val said = judge.judged(CertificateSeen(address, chain[0].encoded, trusted))
            judged = said
            if (said?.accept != true) throw CertificateException("not the station's")
            byKey = !trusted
        }

        private fun nobody(): Nothing = throw CertificateException("this is no server")
    }
}
