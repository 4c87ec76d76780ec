//! Paths of the device interface. The templates are those of the routes, the functions fill them in.

use survey::chain::{Hash, StreamId};
use survey::ids::{DeviceId, PhotoId, SiteId};

/// `POST`: join with a code.
pub const ENROL: &str = "/v1/enrol";
/// `POST`: begins every sync.
pub const HELLO: &str = "/v1/hello";
/// Template of [`entries`].
pub const ENTRIES: &str = "/v1/streams/{device}/{epoch}/entries";
/// Template of [`verdicts`], without its query.
pub const VERDICTS: &str = "/v1/streams/{device}/{epoch}/verdicts";
/// Template of [`feed`], without its query.
pub const FEED: &str = "/v1/sites/{site}/feed";
/// Template of [`photo`].
pub const PHOTO: &str = "/v1/photos/{device}/{photo}";
/// Template of [`photo_part`].
pub const PHOTO_PART: &str = "/v1/photos/{device}/{photo}/parts/{n}";
/// Template of [`text`].
pub const TEXT: &str = "/v1/texts/{hash}";

/// `POST`: a batch of entries of this stream.
pub fn entries(stream: StreamId) -> String {
    format!("/v1/streams/{}/{}/entries", stream.device, stream.epoch)
}

/// `GET`: the verdicts on entries of this stream behind verdict number `after`.
pub fn verdicts(stream: StreamId, after: u64) -> String {
    format!("/v1/streams/{}/{}/verdicts?after={after}", stream.device, stream.epoch)
}

/// `GET`: the page of a site's feed behind item `after`, whose feed hash is `hash`.
pub fn feed(site: SiteId, after: u64, hash: Hash) -> String {
    format!("/v1/sites/{site}/feed?after={after}&hash={hash}")
}

/// `HEAD`: the state of a photo.
pub fn photo(device: DeviceId, photo: PhotoId) -> String {
    format!("/v1/photos/{device}/{photo}")
}

/// `PUT`: part `n` of a photo, from 0.
pub fn photo_part(device: DeviceId, photo: PhotoId, n: u32) -> String {
    format!("/v1/photos/{device}/{photo}/parts/{n}")
}

/// `PUT` and `GET`: the text that this salted hash names.
pub fn text(hash: Hash) -> String {
    format!("/v1/texts/{hash}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wire::samples::{head, site, stream};

    #[test]
    fn paths_are_the_filled_templates() {
        let device = stream().device;
        let photo_id = PhotoId::from_octets([4; 16]);
        insta::assert_json_snapshot!([
            entries(stream()),
            verdicts(stream(), 7),
            feed(site(), 9, head(9).hash),
            photo(device, photo_id),
            photo_part(device, photo_id, 2),
            text(head(5).hash),
        ]);
        let fill = |template: &str| {
            template
                .replace("{device}", &device.to_string())
                .replace("{epoch}", &stream().epoch.to_string())
                .replace("{site}", &site().to_string())
                .replace("{photo}", &photo_id.to_string())
                .replace("{n}", "2")
                .replace("{hash}", &head(5).hash.to_string())
        };
        assert_eq!(entries(stream()), fill(ENTRIES));
        assert!(verdicts(stream(), 7).starts_with(&fill(VERDICTS)));
        assert!(feed(site(), 9, head(9).hash).starts_with(&fill(FEED)));
        assert_eq!(photo(device, photo_id), fill(PHOTO));
        assert_eq!(photo_part(device, photo_id, 2), fill(PHOTO_PART));
        assert_eq!(text(head(5).hash), fill(TEXT));
    }
}
