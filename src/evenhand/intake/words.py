"""The words files use, in a dozen languages: for limits, missing values, columns, kinds of row, reasons, marks.

All of them are common practice, no source. Words are compared folded: without accents, case and punctuation.
"""

from __future__ import annotations

import re
import unicodedata
from enum import StrEnum
from functools import lru_cache

from evenhand.records.diary import MarkKind, Reason
from evenhand.units import Unit


class Role(StrEnum):
    """What a column can be."""

    TIME = "time"
    DATE = "date"
    VALUE = "value"
    UNIT = "unit"
    KIND = "kind"
    DEVICE = "device"
    NOTE = "note"
    REASON = "reason"
    MARKS = "marks"
    LOT = "lot"
    ZONE = "zone"


class Kind(StrEnum):
    """What a row can be."""

    READING = "reading"
    STICK = "fingerstick"
    CALIBRATION = "calibration"
    CONTROL = "control"
    ALARM = "alarm"
    MEAL = "meal"
    EXERCISE = "exercise"
    NOTE = "note"


_JOINERS = re.compile(r"[\s_\-./:\\]+")


@lru_cache(maxsize=20_000)
def fold(text: str) -> str:
    """A word without accents, case and joining marks.

    >>> fold(" Blutzucker_Wert "), fold("GLYCÉMIE")
    ('blutzucker wert', 'glycemie')
    """
    plain = "".join(mark for mark in unicodedata.normalize("NFKD", text) if not unicodedata.combining(mark))
    return _JOINERS.sub(" ", plain.casefold()).strip(" ()[]'\"*#!?,;")


def _set(words: str) -> frozenset[str]:
    return frozenset(fold(word) for word in words.split(","))


LOW_WORDS = _set(
    "low,lo,low glucose,too low,below range,niedrig,tief,zu niedrig,bas,basse,faible,trop bas,bajo,baja,muy bajo,basso,bassa,troppo basso,"
    "baixo,baixa,muito baixo,laag,te laag,låg,lågt,för lågt,lav,lavt,matala,alhainen,niski,niska,nisko,nízká,nízký,nízké,"
    "alacsony,низкий,низкая,низко,низкое,düşük,低,低い,低値,低血糖"
)
HIGH_WORDS = _set(
    "high,hi,high glucose,too high,above range,hoch,zu hoch,haut,haute,élevé,élevée,trop haut,alto,alta,muy alto,troppo alto,"
    "muito alto,hoog,te hoog,hög,högt,för högt,høj,højt,høy,høyt,korkea,wysoki,wysoka,wysoko,vysoká,vysoký,vysoké,"
    "magas,высокий,высокая,высоко,высокое,yüksek,高,高い,高値,高血糖"
)
BELOW_WORDS = _set(
    "below,under,less than,lower than,unter,kleiner als,weniger als,unterhalb,sous,moins de,inférieur à,inferieur a,por debajo de,menos de,"
    "menor que,inferior a,sotto,meno di,minore di,inferiore a,abaixo de,onder,minder dan,lager dan,mindre än,"
    "mindre end,mindre enn,alle,poniżej,mniej niż,pod,méně než,ниже,менее,меньше,altında,lo,low,<,≤,<=,=<"
)
ABOVE_WORDS = _set(
    "above,over,more than,higher than,greater than,über,ueber,größer als,mehr als,oberhalb,au-dessus de,plus de,supérieur à,superieur a,"
    "por encima de,más de,mayor que,superior a,sopra,più di,maggiore di,superiore a,acima de,mais de,maior que,"
    "boven,meer dan,hoger dan,mer än,mere end,mer enn,yli,powyżej,więcej niż,nad,více než,выше,более,больше,üzerinde,hi,high,>,≥,>=,=>"
)
BELOW_AFTER = _set("未満,以下,altında,alatt,or less,or lower")
ABOVE_AFTER = _set("以上,超,üzerinde,felett,or more,or higher")
MISSING_WORDS = _set(
    "n/a,na,nan,null,none,nil,missing,no data,no reading,no value,keine daten,kein wert,k.a.,fehlt,absent,aucune,manquant,nd,n.d.,"
    "sin datos,sin valor,nessun dato,mancante,sem dados,geen,ontbreekt,saknas,mangler,puuttuu,brak,chybí,нет,yok,なし,データなし,"
    "undefined,empty,leer,vide,vacío,vuoto"
) | {"", "x", "xx", "xxx", "-", "n a"}
_MARKS_ONLY = re.compile(r"[\s\-–—_.?*#x/]*", re.I)

UNIT_WORDS: dict[str, Unit] = {
    **dict.fromkeys(_set("mg/dl,mgdl,mg%,mg,mg per dl,мг/дл"), Unit.MG_DL),
    **dict.fromkeys(_set("mmol/l,mmoll,mmol,mmol per l,mmol per litre,mM,ммоль/л,mmol/litre"), Unit.MMOL_L),
}


def missing(text: str) -> bool:
    """Whether a cell says that there is no value: empty, dashes, 'n/a' and its kin.

    >>> missing(" -- "), missing("n/a"), missing("LOW")
    (True, True, False)
    """
    return _MARKS_ONLY.fullmatch(text) is not None or fold(text) in MISSING_WORDS


COLUMN_WORDS: dict[Role, frozenset[str]] = {
    Role.TIME: _set(
        "time,date time,datetime,date and time,timestamp,time stamp,local time,device time,display time,event time,recorded,recorded at,"
        "measured at,reading time,when,clock,time of day,zeit,zeitpunkt,zeitstempel,uhrzeit,datum uhrzeit,datum und uhrzeit,datum/zeit,messzeit,messzeitpunkt,"
        "heure,date heure,date et heure,horodatage,hora,fecha hora,fecha y hora,marca de tiempo,ora,data ora,data e ora,orario,"
        "data hora,data e hora,tijd,tijdstip,datum tijd,datum en tijd,tid,tidpunkt,tidspunkt,datum tid,dato tid,klokkeslæt,klokkeslett,klockslag,"
        "aika,aikaleima,kello,kellonaika,czas,data i czas,godzina,data i godzina,čas,datum a čas,время,дата и время,дата время,zaman,saat,tarih saat,"
        "日時,測定日時,時刻,時間,时间,日付時刻,idő,időpont,epoch,unix time,instant,effective"
    ),
    Role.DATE: _set(
        "date,day,datum,tag,fecha,día,data,giorno,dia,dato,dag,päivä,päivämäärä,pvm,dzień,den,дата,день,tarih,gün,日付,年月日,日期,dátum,jour"
    ),
    Role.VALUE: _set(
        "glucose,value,reading,result,bg,blood glucose,blood sugar,sugar,sensor glucose,glucose value,glucose reading,glucose level,level,"
        "glukose,glucosewert,glukosewert,blutzucker,bz,bz wert,wert,messwert,ergebnis,gewebezucker,zucker,glycémie,valeur,résultat,mesure,"
        "glucosa,glucemia,valor,resultado,azúcar,glicemia,valore,risultato,glicose,glicémia,glucosewaarde,bloedglucose,bloedsuiker,waarde,"
        "glukos,blodsocker,blodglukos,värde,blodsukker,blodglukose,værdi,verdi,måling,glukoosi,verensokeri,arvo,glukoza,glikemia,cukier,wartość,wynik,stężenie,"
        "glukóza,glykémie,hodnota,глюкоза,сахар,значение,результат,glukoz,kan şekeri,değer,sonuç,血糖,血糖値,血糖值,グルコース,グルコース値,測定値,値,"
        "vércukor,érték,measurement,concentration"
    ),
    Role.UNIT: _set(
        "unit,units,uom,einheit,einheiten,unité,unités,unidad,unidades,unità,unidade,eenheid,enhet,enhed,yksikkö,jednostka,jednotka,единица,единицы,birim,単位,单位,egység"
    ),
    Role.KIND: _set(
        "type,kind,record type,row type,event type,entry type,reading type,entry,event,category,what,art,typ,datentyp,ereignis,satzart,kategorie,"
        "genre,catégorie,tipo,evento,categoría,categoria,soort,gebeurtenis,händelse,slag,hendelse,hændelse,tyyppi,tapahtuma,rodzaj,zdarzenie,druh,událost,тип,событие,tür,olay,種類,種別,类型,típus"
    ),
    Role.DEVICE: _set(
        "device,device name,sensor,sensor name,source,instrument,gerät,gerätename,quelle,appareil,capteur,dispositivo,"
        "sensore,fonte,fuente,apparaat,bron,enhet namn,källa,kilde,apparat,laite,anturi,urządzenie,czujnik,zařízení,senzor,устройство,прибор,датчик,cihaz,機器,センサー,设备,eszköz"
    ),
    Role.NOTE: _set(
        "note,notes,comment,comments,remark,remarks,text,bemerkung,bemerkungen,kommentar,notiz,notizen,anmerkung,remarque,remarques,commentaire,nota,notas,comentario,observaciones,note,commento,osservazioni,observação,observações,comentário,opmerking,opmerkingen,anteckning,notering,notat,merknad,bemærkning,huomautus,huomio,uwagi,uwaga,komentarz,poznámka,poznámky,примечание,заметка,комментарий,açıklama,メモ,備考,コメント,备注,megjegyzés"
    ),
    Role.REASON: _set(
        "reason,why,reason for test,grund,anlass,raison,motif,motivo,razón,reden,orsak,årsag,årsak,syy,powód,důvod,причина,neden,理由,原因"
    ),
    Role.MARKS: _set(
        "mark,marks,flag,flags,marker,status,kennzeichen,markierung,marque,marques,marca,marcas,contrassegno,marcatori,vlag,markering,merke,merkintä,merkki,znacznik,příznak,значок,метка,işaret,印,フラグ"
    ),
    Role.ZONE: _set(
        "utc offset,offset,zone,time zone,timezone,tz,gmt offset,zeitzone,fuseau horaire,zona horaria,fuso orario,fuso horário,tijdzone,tidszon,tidszone,aikavyöhyke,strefa czasowa,časové pásmo,часовой пояс,saat dilimi,タイムゾーン"
    ),
    Role.LOT: _set("lot,strip lot,batch,charge,los,lote,lotto,partij,sats,erä,seria,šarže,серия,ロット"),
}
OTHER_COLUMNS = _set(
    "index,nr,no,number,id,row,row id,record id,count,counter,sequence,seq,lfd nr,insulin,insulina,insuline,bolus,basal,carb,carbs,carbohydrates,"
    "kohlenhydrate,kh,glucides,carbohidratos,carboidrati,steps,heart rate,pulse,puls,battery,batterie,voltage,raw,signal,current,temperature,temp,"
    "trend,rate,rate of change,slope,delta,change,ketone,ketones,weight,gewicht,blood pressure,age,duration,serial,serial number,"
    "transmitter,transmitter time,transmitter id,firmware,version,quality,noise,rssi,dose,units of insulin,exported,uploaded,received,created,modified,imported,synced"
)
SENSOR_COLUMNS = _set(
    "sensor,cgm,sensor value,sensor reading,interstitial,tissue,sensorwert,capteur,sensore,anturi,czujnik,senzor,датчик,センサー,gewebe"
)
STICK_COLUMNS = _set(
    "fingerstick,finger stick,finger,stick,strip,capillary,meter,bg meter,smbg,blutzucker messgerät,fingerprick,meter glucose,strip glucose,finger value,meter value"
)

_KINDS: dict[Kind, str] = {
    Kind.READING: "reading,sensor,sensor reading,sensor glucose,cgm,glucose,glucose reading,interstitial,gewebe,gewebezucker,sensorwert,messwert,automatic,historic,auto,lecture,capteur,lectura,lettura,leitura,meting,avläsning,lukema,odczyt,měření,показание,ölçüm,測定,reading (sensor)",
    Kind.STICK: "fingerstick,finger stick,finger,stick,fingerprick,finger prick,bg,smbg,blood glucose,blood,meter,meter reading,strip,capillary,manual,fingerblut,blutzucker,bz,blutzuckermessung,glycémie capillaire,capillaire,piqûre,capilar,glucemia capilar,capillare,pungidito,vingerprik,fingerstick,stick (finger),blodprov,fingerprøve,blodsukker,sormenpää,z palca,glukometr,z prstu,из пальца,глюкометр,parmak,指先,血糖測定",
    Kind.CALIBRATION: "calibration,cal,calibrate,calibration bg,kalibrierung,kalibration,étalonnage,calibrage,calibración,calibrazione,taratura,calibração,kalibratie,kalibrering,kalibrointi,kalibracja,kalibrace,калибровка,kalibrasyon,較正,校正",
    Kind.CONTROL: "control,control solution,control test,qc,kontrolle,kontrolllösung,kontrollösung,solution de contrôle,contrôle,control de calidad,solución de control,soluzione di controllo,controllo,solução de controlo,controlevloeistof,kontroll,kontrol,kontrolliliuos,kontrola,kontrolní roztok,контроль,kontrol çözeltisi,コントロール",
    Kind.ALARM: "alarm,alert,low alarm,high alarm,low alert,high alert,warnung,alarme,alerte,alarma,alerta,allarme,avviso,waarschuwing,larm,varsel,hälytys,alert niski,výstraha,тревога,сигнал,alarm (low),uyarı,アラーム,警報",
    Kind.MEAL: "meal,food,carbs,carb,carbohydrates,breakfast,lunch,dinner,snack,mahlzeit,essen,kohlenhydrate,repas,glucides,comida,carbohidratos,pasto,carboidrati,refeição,maaltijd,måltid,ateria,posiłek,jídlo,еда,приём пищи,öğün,食事",
    Kind.EXERCISE: "exercise,activity,sport,workout,bewegung,exercice,ejercicio,esercizio,exercício,beweging,träning,trening,motion,liikunta,ćwiczenia,cvičení,упражнения,egzersiz,運動",
    Kind.NOTE: "note,notes,comment,notiz,bemerkung,kommentar,remarque,nota,commento,opmerking,anteckning,notat,huomautus,uwaga,poznámka,заметка,メモ",
}  # fmt: skip
KIND_WORDS: dict[str, Kind] = {word: kind for kind, words in _KINDS.items() for word in _set(words)}

_REASONS: dict[Reason, str] = {
    Reason.PLAN: "plan,planned,scheduled,drawn,geplant,prévu,planifié,previsto,planeado,pianificato,planejado,gepland,planerad,planlagt,suunniteltu,planowany,plánované,план,плановый,planlı,計画",
    Reason.HABIT: "habit,routine,usual,gewohnheit,wie immer,habitude,hábito,costumbre,abitudine,rotina,gewoonte,vana,vane,tapa,nawyk,zvyk,привычка,alışkanlık,習慣",
    Reason.PROMPTED: "prompted,alarm,alert,symptom,symptoms,odd,odd reading,curiosity,curious,recheck,check,felt low,felt high,low feeling,anlass,veranlasst,neugier,gefühl,symptôme,alarme,symptome,síntoma,alarma,sintomo,allarme,sintoma,klacht,symtom,oire,objaw,příznak,симптом,belirti,症状",
    Reason.CALIBRATION: "calibration,cal,kalibrierung,calibrage,étalonnage,calibración,calibrazione,calibração,kalibratie,kalibrering,kalibrointi,kalibracja,kalibrace,калибровка,kalibrasyon,較正,校正",
    Reason.UNKNOWN: "unknown,unbekannt,inconnu,desconocido,sconosciuto,desconhecido,onbekend,okänd,ukendt,ukjent,tuntematon,nieznany,neznámý,неизвестно,bilinmiyor,不明",
}  # fmt: skip
REASON_WORDS: dict[str, Reason] = {word: reason for reason, words in _REASONS.items() for word in _set(words)}

_MARK_WORDS: dict[MarkKind, str] = {
    MarkKind.UNWASHED: "unwashed,not washed,hands unwashed,hands not washed,ungewaschen,nicht gewaschen,non lavé,mains non lavées,sin lavar,non lavate,não lavadas,ongewassen,otvättade,uvaskede,uvasket,pesemättömät,nieumyte,neumyté,немытые,yıkanmamış,未洗浄",
    MarkKind.STRIP_ERROR: "strip error,strip-error,error,bad strip,streifenfehler,teststreifenfehler,erreur bandelette,error de tira,errore striscia,erro de tira,stripfout,stickfel,strimmelfejl,liuskavirhe,błąd paska,chyba proužku,ошибка полоски,şerit hatası",
    MarkKind.CONTROL: _KINDS[Kind.CONTROL],
    MarkKind.SAME_DROP: "same drop,same-drop,gleicher tropfen,derselbe tropfen,même goutte,misma gota,stessa goccia,mesma gota,zelfde druppel,samma droppe,samme dråbe,sama pisara,ta sama kropla,stejná kapka,та же капля,aynı damla",
}  # fmt: skip
MARK_WORDS: dict[str, MarkKind] = {word: mark for mark, words in _MARK_WORDS.items() for word in _set(words)}

_MONTHS = (
    "january,jan,januar,jänner,janvier,janv,enero,ene,gennaio,gen,janeiro,januari,tammikuu,tammikuuta,tammi,styczeń,stycznia,sty,leden,ledna,led,январь,января,янв,ocak,oca",
    "february,feb,februar,feber,février,févr,fév,febrero,febbraio,fevereiro,fev,februari,helmikuu,helmikuuta,helmi,luty,lutego,lut,únor,února,úno,февраль,февраля,фев,şubat,şub",
    "march,mar,märz,mrz,mär,mars,marzo,março,maart,mrt,maaliskuu,maaliskuuta,maalis,marzec,marca,březen,března,bře,март,марта,мар,mart",
    "april,apr,avril,avr,abril,abr,aprile,huhtikuu,huhtikuuta,huhti,kwiecień,kwietnia,kwi,duben,dubna,dub,апрель,апреля,апр,nisan,nis",
    "may,mai,mayo,maggio,mag,maio,mei,maj,toukokuu,toukokuuta,touko,maja,květen,května,kvě,май,мая,mayıs,mayis",
    "june,jun,juni,juin,junio,giugno,giu,junho,kesäkuu,kesäkuuta,kesä,czerwiec,czerwca,cze,červen,června,čvn,июнь,июня,июн,haziran,haz",
    "july,jul,juli,juillet,juil,julio,luglio,lug,julho,heinäkuu,heinäkuuta,heinä,lipiec,lipca,lip,červenec,července,čvc,июль,июля,июл,temmuz,tem",
    "august,aug,août,aou,agosto,ago,augustus,augusti,elokuu,elokuuta,elo,sierpień,sierpnia,sie,srpen,srpna,srp,август,августа,авг,ağustos,ağu",
    "september,sep,sept,septembre,septiembre,settembre,set,setembro,syyskuu,syyskuuta,syys,wrzesień,września,wrz,září,zář,сентябрь,сентября,сен,сент,eylül,eyl",
    "october,oct,oktober,okt,octobre,octubre,ottobre,ott,outubro,out,lokakuu,lokakuuta,loka,październik,października,paź,říjen,října,říj,октябрь,октября,окт,ekim,eki",
    "november,nov,novembre,noviembre,novembro,marraskuu,marraskuuta,marras,listopad,listopada,lis,lis,ноябрь,ноября,ноя,kasım,kas",
    "december,dec,dezember,dez,décembre,déc,diciembre,dic,dicembre,dezembro,joulukuu,joulukuuta,joulu,grudzień,grudnia,gru,prosinec,prosince,pro,декабрь,декабря,дек,aralık,ara",
)  # fmt: skip
MONTH_WORDS: dict[str, int] = {
    word: number for number, words in enumerate(_MONTHS, 1) for word in _set(words)
}
