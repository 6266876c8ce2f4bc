"""The one error tree. A message says what, where, what was expected and what to do.

RebuildError
├── SettingError            a setting or option that cannot be used             setting-invalid
├── SheetError              the job sheet
│   ├── SheetNotFound       no shipped id and no file of that name              sheet-not-found
│   └── SheetInvalid        a field is missing, wrong or contradicts another    sheet-invalid
├── SoundError              a recording
│   ├── SoundNotFound       no such file                                        sound-not-found
│   ├── SoundUnreadable     not a recording, or in no format that we decode     sound-unreadable
│   ├── SoundEmpty          a recording without any sound in it                 sound-empty
│   └── MicrophoneFailed    a microphone of the server that gives no sound      microphone-failed
├── JournalError            the crash-safe journal
│   ├── JournalFull         the disk took no more                               journal-full
│   └── JournalDamaged      damage that cannot be read past                     journal-damaged
├── EngineError             a speech engine
│   ├── EngineUnknown       no engine of that name                              engine-unknown
│   ├── WeightsMissing      the engine's model is not on this machine           weights-missing
│   ├── EngineFailed        the engine gave up on a piece of sound              engine-failed
│   └── VoiceMissing        no free voice on this machine speaks phrases        voice-missing
├── SpeakerError            an enrolled speaker
│   ├── SpeakerUnknown      nobody is enrolled by that name                     speaker-unknown
│   └── EnrolmentTooLittle  too little of the phrases was heard                 enrolment-too-little
├── VocabularyError         a vocabulary that cannot be compiled                vocabulary-invalid
├── PictureError            a photo
│   ├── PictureNotFound     no such file or folder                              picture-not-found
│   ├── PictureUnreadable   not a picture, damaged or too large                 picture-unreadable
│   ├── CameraFailed        a camera of the server that gives no picture        camera-failed
│   └── DiameterInvalid     a face diameter that no face has                    diameter-invalid
├── NarrationUnreadable     a narration text file that cannot be read           narration-unreadable
├── CalculationOutOfRange   a shop calculation outside its validity             calculation-out-of-range
├── OutputError             the folder that the work is written to
│   ├── OutputForeign       it holds the work of another recording or sheet     output-foreign
│   ├── OutputBusy          another process is working in it                    output-busy
│   └── OutputUnwritable    it cannot be written                                output-unwritable
├── RecordForeign           a record of another version of the contract         record-foreign
├── ReportError             a report that could not be made                     report-failed
├── DecisionRefused         a reviewer's decision that cannot be applied        decision-refused
├── TagForeign              a QR code that is no tag or badge of ours             tag-foreign
├── FrameDamaged            sound from a bench that is no frame of ours         frame-damaged
├── ConsentMissing          somebody who did not agree to be recorded           consent-missing
├── SigningError            something that cannot be signed or checked          signing-failed
├── BackupDamaged           a backup that is not what was backed up             backup-damaged
└── StoreError              what the shop keeps
    ├── StoreUnusable       the database cannot be opened or is of another time store-unusable
    ├── StoreBusy           it stayed locked by another process                 store-busy
    ├── MediaUnusable       the media store cannot be reached or used           media-unusable
    ├── MediaDamaged        what it keeps is not what was put there             media-damaged
    ├── StoreRefused        a value that the database cannot hold               store-refused
    ├── NotKept             no job, account or revision of that name            not-kept
    ├── AccountRefused      a name, secret or role that cannot be taken         account-refused
    ├── GaugeRefused        a gauge's id or date that cannot be taken           gauge-refused
    ├── HoursRefused        a reading of an hour meter that cannot be taken     hours-refused
    ├── StockRefused        a stock number or amount that cannot be taken       stock-refused
    ├── TaskLost            work that another worker took up meanwhile          task-lost
    └── OutOfTurn           a step that the job's state does not allow          out-of-turn

Exceptions mean that the work could not be done. What is found on a pump (out of limits,
forgotten, unsure) is data in the record, never an exception.
"""

from __future__ import annotations

from shared.error_root import RebuildError as RebuildError


class SettingError(RebuildError):
    """A setting or option that cannot be used."""

    code = "setting-invalid"


class SheetError(RebuildError):
    """Something about a job sheet."""

    code = "sheet-error"


class SheetNotFound(SheetError):
    """Neither a shipped id nor a file."""

    code = "sheet-not-found"


class SheetInvalid(SheetError):
    """A sheet that cannot be worked by; ``problems`` holds every finding, one line each."""

    code = "sheet-invalid"

    def __init__(
        self,
        what: str,
        *,
        where: str = "",
        expected: str = "",
        remedy: str = "",
        problems: tuple[str, ...] = (),
    ) -> None:
        super().__init__(what, where=where, expected=expected, remedy=remedy)
        self.problems = problems


class SoundError(RebuildError):
    """Something about a recording."""

    code = "sound-error"


class SoundNotFound(SoundError):
    """No such file."""

    code = "sound-not-found"


class SoundUnreadable(SoundError):
    """Not a recording, or in a format that cannot be decoded."""

    code = "sound-unreadable"


class SoundEmpty(SoundError):
    """A recording without any sound in it."""

    code = "sound-empty"


class MicrophoneFailed(SoundError):
    """A microphone of the server that cannot be opened or gives no sound."""

    code = "microphone-failed"


class JournalError(RebuildError):
    """Something about the crash-safe journal."""

    code = "journal-error"


class JournalFull(JournalError):
    """The disk took no more; what was captured before stays readable."""

    code = "journal-full"


class JournalDamaged(JournalError):
    """Damage that cannot be read past."""

    code = "journal-damaged"


class EngineError(RebuildError):
    """Something about a speech engine."""

    code = "engine-error"


class EngineUnknown(EngineError):
    """No engine of that name."""

    code = "engine-unknown"


class WeightsMissing(EngineError):
    """The engine's model is not on this machine."""

    code = "weights-missing"


class EngineFailed(EngineError):
    """The engine gave up on a piece of sound."""

    code = "engine-failed"


class VoiceMissing(EngineError):
    """No free voice on this machine can speak the phrases."""

    code = "voice-missing"


class SpeakerError(RebuildError):
    """Something about an enrolled speaker."""

    code = "speaker-error"


class SpeakerUnknown(SpeakerError):
    """Nobody is enrolled by that name."""

    code = "speaker-unknown"


class EnrolmentTooLittle(SpeakerError):
    """Too little of the enrolment phrases was heard."""

    code = "enrolment-too-little"


class VocabularyError(RebuildError):
    """A vocabulary that cannot be compiled."""

    code = "vocabulary-invalid"


class PictureError(RebuildError):
    """Something about a photo."""

    code = "picture-error"


class PictureNotFound(PictureError):
    """No such file or folder."""

    code = "picture-not-found"


class PictureUnreadable(PictureError):
    """Not a picture, damaged, or larger than we decode."""

    code = "picture-unreadable"


class CameraFailed(PictureError):
    """A camera of the server that cannot be opened or gives no picture."""

    code = "camera-failed"


class DiameterInvalid(PictureError, ValueError):
    """The diameter of a seal face given as zero, negative or no number."""

    code = "diameter-invalid"


class NarrationUnreadable(RebuildError):
    """A narration text file that cannot be read."""

    code = "narration-unreadable"


class CalculationOutOfRange(RebuildError):
    """A shop calculation that was asked for something where its formula or table does not hold."""

    code = "calculation-out-of-range"


class OutputError(RebuildError):
    """Something about the folder that the work is written to."""

    code = "output-error"


class OutputForeign(OutputError):
    """The folder holds the work of another recording, sheet or engine."""

    code = "output-foreign"


class OutputBusy(OutputError):
    """Another process is working in the folder."""

    code = "output-busy"


class OutputUnwritable(OutputError):
    """The folder cannot be written."""

    code = "output-unwritable"


class RecordForeign(RebuildError):
    """No record, or one of a version of the contract that is not known here."""

    code = "record-foreign"


class ReportError(RebuildError):
    """A report that could not be made."""

    code = "report-failed"


class DecisionRefused(RebuildError):
    """A reviewer's decision that cannot be applied to the record."""

    code = "decision-refused"


class TagForeign(RebuildError):
    """A QR code that is no tag or badge of this shop."""

    code = "tag-foreign"


class FrameDamaged(RebuildError):
    """Sound from a bench that is no frame of ours."""

    code = "frame-damaged"


class ConsentMissing(RebuildError):
    """Sound of somebody who did not agree to be recorded."""

    code = "consent-missing"


class SigningError(RebuildError):
    """Something that cannot be signed, or a signature that cannot be checked at all."""

    code = "signing-failed"


class BackupDamaged(RebuildError):
    """A backup that is not what was backed up, or a shop that is not whole."""

    code = "backup-damaged"


class StoreError(RebuildError):
    """Something about what the shop keeps."""

    code = "store-error"


class StoreUnusable(StoreError):
    """The database cannot be opened, or another version of the program wrote it."""

    code = "store-unusable"


class StoreBusy(StoreError):
    """The database stayed locked by another process."""

    code = "store-busy"


class StoreRefused(StoreError):
    """A value that the database cannot hold, such as one with a zero character in it."""

    code = "store-refused"


class MediaUnusable(StoreError):
    """The place of recordings and pictures cannot be reached or used."""

    code = "media-unusable"


class MediaDamaged(StoreError):
    """What is kept there is not what was put there."""

    code = "media-damaged"


class NotKept(StoreError):
    """No job, account or revision of that name."""

    code = "not-kept"


class GaugeRefused(StoreError):
    """The id or the date of a gauge that cannot be taken."""

    code = "gauge-refused"


class HoursRefused(StoreError):
    """A reading of a pump's hour meter that cannot be taken."""

    code = "hours-refused"


class StockRefused(StoreError):
    """A stock number, or an amount on hand, that cannot be taken."""

    code = "stock-refused"


class AccountRefused(StoreError):
    """A name, a secret or a role that cannot be taken."""

    code = "account-refused"


class TaskLost(StoreError):
    """Work that another worker took up meanwhile; nothing of ours was kept."""

    code = "task-lost"


class OutOfTurn(StoreError):
    """A step that the state of the job does not allow."""

    code = "out-of-turn"
